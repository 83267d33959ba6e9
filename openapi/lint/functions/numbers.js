/** Numbers that neither stand beside a unit nor say by their name what they are. */
const lastWord = (name) => name.split("_").at(-1);

/** Every number below a schema, with the name of the member that holds it. */
function* numbersIn(schema, name, path) {
  if (schema === null || typeof schema !== "object") return;
  const types = [schema.type].flat();
  if (types.includes("number") || types.includes("integer")) yield { schema, name, path };
  for (const [member, below] of Object.entries(schema.properties ?? {})) {
    const isQuantity = member === "value" && "unit" in schema.properties;
    if (!isQuantity) yield* numbersIn(below, member, [...path, "properties", member]);
  }
  yield* numbersIn(schema.items, name, [...path, "items"]);
}

/** Names of members that are a quantity somewhere, and so must be one everywhere. */
function quantityNames(schemas) {
  const isQuantity = (schema) => schema?.properties && "value" in schema.properties && "unit" in schema.properties;
  const members = Object.values(schemas).flatMap((schema) => Object.entries(schema.properties ?? {}));
  const names = members.filter(([, member]) => isQuantity(schemas[member.$ref?.split("/").at(-1)] ?? member));
  return new Set(names.map(([name]) => name));
}

export default (document, { words }) => {
  const schemas = document.components.schemas;
  const quantities = quantityNames(schemas);
  const isFit = ({ schema, name }) =>
    words.includes(lastWord(name)) ||
    (schema.type === "integer" && !quantities.has(name) && !quantities.has(lastWord(name)));
  return Object.entries(schemas)
    .flatMap(([title, schema]) => [...numbersIn(schema, title, ["components", "schemas", title])])
    .filter((found) => !isFit(found))
    .map(({ name, path }) => ({ message: `${name} is a number without a unit.`, path }));
};
