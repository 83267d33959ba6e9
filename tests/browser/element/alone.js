import { LastLamp } from "lastlamp-element";

const lamp = new LastLamp();
for (const [name, value] of Object.entries({ service: "https://lamp.example", lang: "de", volts: "12", count: "4" })) {
    lamp.setAttribute(name, value);
}
document.getElementById("app").append(lamp);
