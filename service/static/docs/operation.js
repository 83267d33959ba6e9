/** Shows one operation: what it is for, what it takes and gives, and a place to try it. */
import { element, opening } from "./element.js";
import { members, nameOf, typeWords } from "./schema.js";
import { resolved, trial } from "./trial.js";
import { blocks, json, line } from "./words.js";

/** Every operation of the contract, in the order of its tags. */
export function operations(contract) {
  const all = Object.entries(contract.paths).flatMap(([path, item]) =>
    Object.entries(item)
      .filter(([, said]) => said.responses)
      .map(([method, said]) => ({ path, method: method.toUpperCase(), ...said, responses: replies(said, contract) })),
  );
  return contract.tags.map((tag) => ({ tag, members: all.filter((each) => each.tags.includes(tag.name)) }));
}

/** The replies of an operation by status, where several share one that has a name as well. */
function replies({ responses }, contract) {
  const written = ([status, reply]) => [status, reply.$ref ? resolved(contract, reply.$ref) : reply];
  return Object.fromEntries(Object.entries(responses).map(written));
}

export function operation(said, contract) {
  const heading = element("h3", { id: said.operationId, tabindex: "-1" }, said.summary);
  return element(
    "section",
    { "aria-labelledby": said.operationId },
    heading,
    element("p.address", {}, element("span.method", {}, said.method), " ", said.path),
    ...blocks(said.description),
    trial(said, contract),
    ...taken(said, contract),
    ...given(said, contract),
  );
}

function taken(said, { components }) {
  const content = Object.values(said.requestBody?.content ?? {})[0];
  if (!content) return [];
  const name = nameOf(content.schema.$ref);
  return [
    element("h4", {}, "Request: ", ...typeWords(content.schema, components.schemas)),
    ...members(components.schemas[name], components.schemas),
  ];
}

function given(said, contract) {
  const replies = Object.entries(said.responses).map(([status, reply]) =>
    opening([element("code", {}, status), " ", element("span.quiet", {}, ...line(short(reply.description)))], () => [
      ...blocks(reply.description),
      ...Object.entries(reply.content ?? {}).flatMap(([kind, content]) => form(kind, content, contract)),
    ]),
  );
  return [element("h4", {}, "Replies"), ...replies];
}

/** The first words of a description; where it lists several refusals, their codes. */
function short(description) {
  const listed = [...description.matchAll(/^- (`[^`]+`)/gm)].map(([, code]) => code);
  return listed.length ? listed.join(", ") : description.split(/(?<=\.) /)[0];
}

function form(kind, { schema = {}, examples = {} }, { components }) {
  const shown = Object.values(examples).map(({ summary, value }) => opening(summary, () => [json(value)]));
  return [element("p", {}, element("code", {}, kind), ": ", ...typeWords(schema, components.schemas)), ...shown];
}
