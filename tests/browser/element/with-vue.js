import { createApp } from "vue";
import Shop from "./Shop.vue";

createApp(Shop).mount("#app");
