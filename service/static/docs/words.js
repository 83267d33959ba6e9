/** Shows the CommonMark of the contract, as far as it is used there: paragraphs, lists, headings, code, bold. */
import { element } from "./element.js";

/** The pieces of one line. */
export function line(text) {
  return text.split(/(``[^`]+``|`[^`]+`|\*\*[^*]+\*\*)/).map((piece) => {
    const code = /^(`{1,2})(.+)\1$/s.exec(piece);
    if (code) return element("code", {}, code[2]);
    return piece.startsWith("**") ? element("strong", {}, piece.slice(2, -2)) : piece;
  });
}

/** The blocks of a text; headings become `heading`. */
export function blocks(text = "", heading = "h4") {
  return text.trim().split(/\n{2,}/).filter(Boolean).flatMap((block) => {
    if (block.startsWith("#")) return [element(heading, {}, ...line(block.replace(/^#+ /, "")))];
    return block.startsWith("- ") ? [list(block)] : [element("p", {}, ...line(block.replaceAll("\n", " ")))];
  });
}

function list(block) {
  const items = block.slice(2).split(/\n- /).map((item) => item.replaceAll(/\n\s*/g, " "));
  return element("ul", {}, ...items.map((item) => element("li", {}, ...line(item))));
}

const TOKEN = /("(?:[^"\\]|\\.)*")(\s*:)?|(-?\d[\d.eE+-]*|true|false|null)/g;
const TOO_LONG_TO_COLOUR = 200_000;

/** JSON on several lines, but each quantity on one. */
export const pretty = (value) =>
  JSON.stringify(value, null, 2).replaceAll(/\{\s+("value": [^,{}[\]]+),\s+("unit": "[^"]*")\s+\}/g, "{$1, $2}");

/** JSON with its names, texts and numbers told apart. */
export function json(value) {
  const text = pretty(value);
  const shown = element("pre", { tabindex: "0" });
  if (text.length > TOO_LONG_TO_COLOUR) shown.textContent = text;
  else shown.append(...coloured(text));
  return shown;
}

function coloured(text) {
  const pieces = [];
  let at = 0;
  for (const found of text.matchAll(TOKEN)) {
    pieces.push(text.slice(at, found.index));
    const [whole, string, colon, number] = found;
    const kind = number === undefined ? (colon ? "name" : "text") : "number";
    pieces.push(element(`span.${kind}`, {}, string ?? number), colon ?? "");
    at = found.index + whole.length;
  }
  return [...pieces, text.slice(at)];
}
