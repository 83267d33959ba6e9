/** Shows what a message may hold: its members, their types and bounds. */
import { element } from "./element.js";
import { blocks, line } from "./words.js";

const TYPES = { integer: "whole number", number: "number", string: "text", boolean: "true or false", object: "object" };

export const nameOf = (reference) => reference.split("/").at(-1);

/** The address of a type within the page. */
export const addressOf = (name) => `#type-${name}`;

const link = (name) => element("a", { href: addressOf(name) }, name);
const codes = (values) => values.flatMap((value, index) => [index ? ", " : "", element("code", {}, String(value))]);

/** What stands between the least and the most, in words: "1 to 64 characters". */
function range(least, most, unit = "") {
  if (least === undefined && most === undefined) return "";
  if (most === undefined) return `at least ${least}${unit}`;
  return least === undefined ? `at most ${most}${unit}` : `${least} to ${most}${unit}`;
}

const bounds = (schema) =>
  range(schema.minimum, schema.maximum) ||
  range(schema.minLength, schema.maxLength, " characters") ||
  range(schema.minItems, schema.maxItems, " items");

const isQuantity = (schema) => Object.keys(schema.properties ?? {}).sort().join() === "unit,value";

/** The type of a member in one line. */
export function typeWords(schema, schemas) {
  if (schema.$ref) {
    const name = nameOf(schema.$ref);
    const named = schemas[name];
    const listed = named.enum ? [", one of ", ...codes(named.enum)] : [];
    return [link(name), ...listed, ...(isQuantity(named) ? quantityWords(named, schemas) : [])];
  }
  if (schema.const !== undefined) return codes([JSON.stringify(schema.const)]);
  if (schema.enum) return ["one of ", ...codes(schema.enum)];
  const bound = bounds(schema);
  if (schema.type === "array") {
    return ["list of ", ...typeWords(schema.items ?? {}, schemas), bound ? `; ${bound}` : ""];
  }
  return [TYPES[schema.type] ?? "any JSON", bound ? `, ${bound}` : ""];
}

/** The bounds that a quantity has in one unit, where they are tighter than those of its value. */
function own(schema, unit) {
  for (let rule = schema; rule?.if; rule = rule.else) {
    if (rule.if.properties.unit.const === unit) return rule.then.properties.value;
  }
  return {};
}

function quantityWords(schema, schemas) {
  const { value } = schema.properties;
  const unit = schemas[nameOf(schema.properties.unit.$ref ?? "")] ?? schema.properties.unit;
  const units = unit.enum ?? (unit.const ? [unit.const] : []);
  if (schema.if) {
    const [first, ...others] = units;
    const inside = bounds({ ...value, ...own(schema, first) });
    return [`, ${inside} in `, ...codes([first]), ", or as much in ", ...codes(others)];
  }
  const inside = value.enum ? value.enum.join(", ") : bounds(value);
  return [inside ? `, ${inside}` : "", ...(units.length ? [" in ", ...codes(units)] : [])];
}

function member(name, schema, isNeeded, schemas) {
  const needed = isNeeded ? element("span.needed", {}, "required") : null;
  // Where a member says nothing of itself, its type says what it is.
  // Of a list of names all is said in the line of its type.
  const kind = schemas[nameOf(schema.$ref ?? "")];
  const said = schema.description ?? (kind?.enum ? undefined : kind?.description.split("\n\n")[0]);
  const words = said ? element("p", {}, ...line(said.replaceAll("\n", " "))) : null;
  return element(
    "div",
    {},
    element("dt", {}, element("code", {}, name), needed),
    element("dd", {}, ...typeWords(schema, schemas), words),
  );
}

/** The members of an object, or the kinds of a choice. */
export function members(schema, schemas) {
  if (schema.oneOf) return [choice(schema)];
  if (schema.enum) return [];
  const needed = new Set(schema.required);
  const rows = Object.entries(schema.properties ?? {});
  const shown = rows.map(([name, below]) => member(name, below, needed.has(name), schemas));
  return [element("dl.members", {}, ...shown)];
}

function choice({ discriminator: { propertyName, mapping } }) {
  const kinds = Object.entries(mapping).map(([tag, reference]) =>
    element("li", {}, element("code", {}, tag), ": ", link(nameOf(reference))),
  );
  const title = element("p", {}, "By ", element("code", {}, propertyName), ":");
  return element("div", {}, title, element("ul", {}, ...kinds));
}

/** One type with its own heading. */
export function type(name, schema, schemas) {
  const title = element("h3", { id: addressOf(name).slice(1), tabindex: "-1" }, name);
  return element("section", {}, title, ...blocks(schema.description), ...members(schema, schemas));
}
