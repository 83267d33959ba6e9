/**
 * Makes elements without markup in strings, so that no text of the contract can become an element.
 *
 * @param {string} tag name, with a class after a dot if wanted: "p.quiet"
 * @param {object} attributes of the element; functions are listeners, and what is null is left out
 * @param {...(Node|string|null)} children in order
 */
export function element(tag, attributes = {}, ...children) {
  const [name, ...classes] = tag.split(".");
  const made = document.createElement(name);
  if (classes.length) made.className = classes.join(" ");
  for (const [attribute, value] of Object.entries(attributes)) {
    if (typeof value === "function") made.addEventListener(attribute, value);
    else if (value !== null) made.setAttribute(attribute, value);
  }
  made.append(...children.filter((child) => child !== null));
  return made;
}

/** Makes a part that opens, and is filled when it is opened for the first time. */
export function opening(title, fill) {
  const part = element("details", {}, element("summary", {}, ...[title].flat()));
  part.addEventListener("toggle", () => part.append(...fill()), { once: true });
  return part;
}
