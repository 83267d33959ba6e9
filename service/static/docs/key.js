/** The key of who tries an operation. It stays in this page, and is forgotten with it. */
import { element } from "./element.js";

let key = "";

/** A place for it, where the contract knows of keys. */
export function keyField({ components }) {
  if (!components.securitySchemes) return [];
  const id = "try-key";
  const note = (event) => { key = event.target.value.trim(); };
  const input = element("input", { id, type: "password", autocomplete: "off", spellcheck: "false", input: note });
  const words = "Key, where this service asks for one; it is sent with what you try below and kept nowhere";
  return [element("div.trial", {}, element("label", { for: id }, words), input)];
}

/** The header field that shows it, for an operation that may ask for one. */
export function shownKey({ responses }) {
  return key && responses["401"] ? { Authorization: `Bearer ${key}` } : {};
}
