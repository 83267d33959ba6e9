/** A search over every page of the documentation: the index is loaded once, and nothing more is asked for. */
import { element } from "./element.js";

const MOST = 12;
const SHOWN = 160;

const place = document.getElementById("search");
const index = fetch("/docs/search.json").then((reply) => reply.json());
const count = element("p.quiet", { role: "status" });
const results = element("ol.found", {});
const field = element("input", { id: "sought", type: "search", autocomplete: "off", spellcheck: "false", input: show });
place.append(
  element(
    "form",
    { role: "search", submit: (event) => event.preventDefault() },
    element("label", { for: "sought" }, "Search the documentation"),
    field,
  ),
  count,
  results,
);

const words = (text) => text.toLowerCase().normalize("NFKD").match(/[\p{L}\p{N}²]+/gu) ?? [];

/** How well a part fits: a word in its title counts most; 0 where a word is nowhere. */
function weight(entry, sought) {
  const title = words(entry.title);
  const page = words(entry.page);
  const text = words(entry.text);
  let sum = 0;
  for (const word of sought) {
    const starts = (each) => each.startsWith(word);
    const found = title.includes(word) * 8 + title.some(starts) * 4 + page.some(starts) * 2 + text.some(starts);
    if (!found) return 0;
    sum += found;
  }
  return sum + (entry.page === entry.title ? 3 : 0);
}

/** The text about the first word that was sought. */
function about(text, sought) {
  const at = Math.max(0, text.toLowerCase().indexOf(sought[0]) - SHOWN / 4);
  const from = at === 0 ? 0 : text.indexOf(" ", at) + 1;
  return (from ? "… " : "") + text.slice(from, from + SHOWN) + (from + SHOWN < text.length ? " …" : "");
}

async function show() {
  const entries = await index;
  const sought = words(field.value);
  const fitting = sought.length === 0 ? [] : entries
    .map((entry) => ({ entry, fits: weight(entry, sought) }))
    .filter(({ fits }) => fits)
    .toSorted((a, b) => b.fits - a.fits);
  count.textContent = sought.length === 0 ? "" : fitting.length === 0 ? "Nothing found." : `${fitting.length} found.`;
  results.replaceChildren(...fitting.slice(0, MOST).map(({ entry }) => row(entry, sought)));
}

function row({ page, title, address, text }, sought) {
  const heading = page === title ? title : `${page}: ${title}`;
  return element("li", {}, element("a", { href: address }, heading), element("p.quiet", {}, about(text, sought)));
}
