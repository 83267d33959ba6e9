/**
 * The calculator as a page in a frame. What stands in the address behind "?" becomes its attributes; `host` names the
 * origin of the page around it, which alone is told the answer, the choice and the height.
 */
import { LastLamp } from "/embed/v1/calculator.js";

const asked = new URLSearchParams(location.search);
const host = asked.get("host");
const calculator = document.createElement("last-lamp");

// The address may fill the form in; it may not send the visitor's questions, or a key, somewhere else.
const settable = LastLamp.observedAttributes.filter((name) => name !== "service");
for (const name of settable) if (asked.has(name)) calculator.setAttribute(name, asked.get(name));
if (asked.has("lang")) document.documentElement.lang = asked.get("lang");

function tell(type, detail) {
  if (host && parent !== window) parent.postMessage({ type, detail }, host);
}

for (const type of ["last-lamp-answer", "last-lamp-choice", "last-lamp-problem"]) {
  calculator.addEventListener(type, (event) => tell(type, event.detail));
}
document.querySelector("main").append(calculator);
new ResizeObserver(() => tell("last-lamp-height", document.documentElement.offsetHeight)).observe(document.body);
