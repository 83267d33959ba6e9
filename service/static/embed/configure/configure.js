/** Writes what a shop pastes into its page, and shows what that looks like. */
import "/embed/v1/calculator.js";

const CABLES = [
  "",
  "18 AWG",
  "16 AWG",
  "14 AWG",
  "12 AWG",
  "10 AWG",
  "8 AWG",
  "1 mm2",
  "1.5 mm2",
  "2.5 mm2",
  "4 mm2",
  "6 mm2",
];

/** Each attribute with its label and, where there are any, its choices. */
const OPTIONS = [
  ["lang", "Language", { "": "as the page", en: "English", de: "Deutsch", es: "Español", ar: "العربية" }],
  ["units", "Lengths in", { "": "as the language", us: "feet", metric: "metres" }],
  ["scheme", "Light or dark", { "": "as the page", light: "light", dark: "dark" }],
  ["volts", "Fixtures made for, V", { 12: "12", 15: "15", 24: "24" }],
  ["rating", "Transformer, VA"],
  ["regulation", "Regulation, %"],
  ["taps", "Taps, V", null, "12 13 14"],
  ["cable", "Cable", Object.fromEntries(CABLES.map((size) => [size, size]))],
  ["count", "Fixtures"],
  ["watts", "Watts of each"],
  ["maximum-drop", "Maximum drop, %"],
  ["runs", "Runs at most, where there may be several"],
  ["currency", "Currency of your prices", null, "USD"],
  ["browser-key", "Browser key, where the service asks for one"],
];

function make(tag, attributes, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

const form = document.getElementById("options");
for (const [name, label, choices, placeholder = ""] of OPTIONS) {
  const rows = Object.entries(choices ?? {}).map(([value, text]) => make("option", { value }, text));
  form.append(
    make(
      "label",
      {},
      label,
      choices ? make("select", { name }, ...rows) : make("input", { name, placeholder, spellcheck: "false" }),
    ),
  );
}
const fixed = make(
  "select",
  { name: "version" },
  make("option", { value: "fixed" }, "this one, checked by its hash"),
  make("option", { value: "newest" }, "always the newest 1.x"),
);
form.append(make("label", {}, "Version", fixed));

const { newest, versions } = await (await fetch("/embed/manifest.json")).json();
const file = versions
  .find(({ version }) => version === newest.v1)
  .files.find(({ path }) => path.endsWith("/calculator.js"));

const escaped = (text) => text.replaceAll("&", "&amp;").replaceAll('"', "&quot;").replaceAll("<", "&lt;");

function chosen() {
  const values = new FormData(form);
  return OPTIONS.map(([name]) => [name, values.get(name).trim()]).filter(([, value]) => value);
}

function snippet(attributes) {
  const [path, checked] =
    fixed.value === "fixed"
      ? [file.path, `\n  integrity="${file.integrity}" crossorigin="anonymous"`]
      : ["/embed/v1/calculator.js", ""];
  const written = attributes.map(([name, value]) => ` ${name}="${escaped(value)}"`).join("");
  return `<script type="module" src="${location.origin}${path}"${checked}></script>
<last-lamp${written}></last-lamp>
<noscript><a href="${location.origin}/docs">How to ask for the volts without JavaScript</a></noscript>`;
}

const SCRIPT = `const lamp = document.querySelector("last-lamp");
lamp.stock = [
  { id: "your-id-1", conductor: "12 AWG", name: "Garden cable", price: { kind: "per-length", amount: "0.74", per: "ft" } },
  { id: "your-id-2", rating: { value: 150, unit: "VA" }, regulation_percent: 5,
    taps: [{ value: 12, unit: "V" }, { value: 13, unit: "V" }] },
];
lamp.addEventListener("last-lamp-choice", ({ detail }) => {
  console.log(detail.cable.id, detail.cable.length, detail.transformer.id, detail.verdict);
});`;

function write() {
  document.getElementById("snippet").textContent = snippet(chosen());
  document.getElementById("copied").textContent = "";
}

function preview() {
  document.getElementById("preview").replaceChildren(make("last-lamp", Object.fromEntries(chosen())));
}

document.getElementById("origin").textContent = location.origin;
document.getElementById("policy").textContent = `script-src ${location.origin}; connect-src ${location.origin}`;
document.getElementById("script").textContent = SCRIPT;
document.getElementById("copy").addEventListener("click", async () => {
  await navigator.clipboard.writeText(document.getElementById("snippet").textContent);
  document.getElementById("copied").textContent = "Copied.";
});
form.addEventListener("input", write);
form.addEventListener("change", preview);
form.addEventListener("submit", (event) => event.preventDefault());
write();
preview();
