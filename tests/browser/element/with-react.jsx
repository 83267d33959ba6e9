import { createRoot } from "react-dom/client";
import Shop from "./Shop";

createRoot(document.getElementById("app")).render(<Shop />);
