/** Writes the page from the contract that this very service serves. */
import { element } from "./element.js";
import { keyField } from "./key.js";
import { operation, operations } from "./operation.js";
import { nameOf, type } from "./schema.js";
import { blocks } from "./words.js";

const content = document.getElementById("content");

function contents(groups, kinds) {
  const entry = (address, words) => element("li", {}, element("a", { href: address }, words));
  const part = (title, entries) => element("div", {}, element("p", {}, title), element("ul", {}, ...entries));
  return [
    ...groups.map(({ tag, members }) =>
      part(capital(tag.name), members.map((each) => entry(`#${each.operationId}`, each.summary))),
    ),
    part("Types", kinds.map(({ id, title }) => entry(`#${id}`, title))),
  ];
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);

/** Names of the types that a part of the contract is made of, with all that those are made of. */
function reached(part, schemas, found = new Set()) {
  for (const [, reference] of JSON.stringify(part ?? {}).matchAll(/"\$ref":"(#\/components\/schemas\/[^"]+)"/g)) {
    const name = nameOf(reference);
    if (found.has(name)) continue;
    found.add(name);
    reached(schemas[name], schemas, found);
  }
  return found;
}

/** Types of requests, and those that stand in replies alone; a reply may hand a request back. */
function kindsOf(contract, groups) {
  const said = groups.flatMap(({ members }) => members);
  const schemas = contract.components.schemas;
  const sent = reached(said.map((each) => each.requestBody), schemas);
  const answered = [...reached(said.map((each) => each.responses), schemas)].filter((name) => !sent.has(name));
  return [
    { id: "types-sent", title: "In requests", names: [...sent] },
    { id: "types-answered", title: "In replies", names: answered },
  ];
}

function chapter(id, title, words, sections) {
  return element("section", {}, element("h2", { id, tabindex: "-1" }, title), ...blocks(words), ...sections);
}

function body(contract, groups, kinds) {
  const { summary, description } = contract.info;
  const schemas = contract.components.schemas;
  return [
    element("h1", {}, summary),
    ...blocks(description, "h2.aside"),
    ...keyField(contract),
    ...groups.map(({ tag, members }) =>
      chapter(`part-${tag.name}`, capital(tag.name), tag.description, members.map((each) => operation(each, contract))),
    ),
    ...kinds.map(({ id, title: heading, names }) =>
      chapter(id, `Types ${heading[0].toLowerCase()}${heading.slice(1)}`, "", sections(names, schemas)),
    ),
  ];
}

const sections = (names, schemas) => names.toSorted().map((name) => type(name, schemas[name], schemas));

/** An address within the page could not be found before the page was written. */
function goToAddress() {
  const place = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (place) place.scrollIntoView({ behavior: "instant" });
}

async function write() {
  const reply = await fetch("/openapi.json", { headers: { Accept: "application/json" } });
  if (!reply.ok) throw new Error(`the service answered ${reply.status}`);
  const contract = await reply.json();
  const groups = operations(contract).filter(({ members }) => members.length);
  const kinds = kindsOf(contract, groups);
  document.getElementById("version").textContent = contract.info.version;
  document.getElementById("contents").replaceChildren(...contents(groups, kinds));
  content.replaceChildren(...body(contract, groups, kinds));
  goToAddress();
}

content.prepend(element("p", { role: "status" }, "Reading the contract …"));
try {
  await write();
} catch (error) {
  content.replaceChildren(
    element("p", { role: "alert" }, `The contract could not be read: ${error.message}. Reload the page to try again.`),
  );
}
content.removeAttribute("aria-busy");
