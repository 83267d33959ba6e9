/** A place to try one operation: a request that works, to be changed and sent, and what comes back. */
import { element, opening } from "./element.js";
import { shownKey } from "./key.js";
import { json, line, pretty } from "./words.js";

/** The form for an operation. */
export function trial(said, contract) {
  const prefix = `try-${said.operationId}`;
  const body = bodyOf(said);
  const fields = fieldsOf(said, contract);
  const inputs = [
    ...fields.map((field, index) => input(field, `${prefix}-${index}`)),
    ...(body ? bodyInput(body, prefix) : []),
  ];
  const status = element("p.status", { role: "status" }, inputs.length ? "The reply appears here." : "");
  const reply = element("div", {});
  const request = () => requestOf(said, fields, body);
  const button = element("button", { type: "button", click: () => send(request(), button, status, reply) }, "Send");
  const command = element("pre", { tabindex: "0" });
  const asCommand = opening("As a command", () => [command]);
  asCommand.addEventListener("toggle", () => { command.textContent = curl(request()); });
  return element(
    "div.trial",
    { keydown: (event) => event.key === "Enter" && (event.ctrlKey || event.metaKey) && button.click() },
    element("h4", {}, "Try it"),
    element(
      inputs.length ? "div.sides" : "div",
      {},
      element("div", {}, ...inputs, element("div.actions", {}, button), asCommand),
      element("div.reply", {}, status, reply),
    ),
  );
}

/** The media type of the body and the examples that work. */
function bodyOf(said) {
  const [kind, content] = Object.entries(said.requestBody?.content ?? {})[0] ?? [];
  return kind && { kind, examples: Object.values(content.examples ?? {}) };
}

function bodyInput(body, prefix) {
  const id = `${prefix}-body`;
  body.input = element("textarea", { id, spellcheck: "false", autocapitalize: "off", autocomplete: "off" });
  body.input.value = pretty(body.examples[0]?.value ?? {});
  const options = body.examples.map(({ summary }, index) => element("option", { value: index }, summary));
  const show = (event) => { body.input.value = pretty(body.examples[event.target.value].value); };
  const choice = element("select", { id: `${prefix}-example`, change: show }, ...options);
  return [
    element("label", { for: choice.id }, "Start from"),
    choice,
    element("label", { for: id }, `Request, ${body.kind}; Ctrl+Enter sends it`),
    body.input,
  ];
}

/** The parts of the address that the caller fills in. */
function fieldsOf(said, contract) {
  const parameters = (said.parameters ?? []).map(({ $ref, ...own }) => ($ref ? resolved(contract, $ref) : own));
  return parameters.filter(({ in: place }) => place === "path" || place === "query");
}

export const resolved = (contract, reference) => reference.slice(2).split("/").reduce((place, name) => place[name], contract);

function input(field, id) {
  field.input = element("input", { id, type: "text", value: String(field.example ?? "") });
  return element("div", {}, element("label", { for: id }, `${field.name}, in the ${field.in}`), field.input);
}

function requestOf(said, fields, body) {
  let path = said.path;
  const query = new URLSearchParams();
  for (const field of fields) {
    if (field.in === "path") path = path.replace(`{${field.name}}`, encodeURIComponent(field.input.value));
    else if (field.input.value) query.set(field.name, field.input.value);
  }
  const address = new URL(query.size ? `${path}?${query}` : path, location.origin);
  const headers = { ...shownKey(said), ...(body && { "Content-Type": body.kind }) };
  return { address, method: said.method, headers, ...(body && { body: body.input.value }) };
}

async function send({ address, ...request }, button, status, reply) {
  button.disabled = true;
  reply.replaceChildren();
  say(status, "", "Sent; waiting …");
  const started = performance.now();
  try {
    const answer = await fetch(address, request);
    const bytes = await answer.arrayBuffer();
    const lasted = `${Math.round(performance.now() - started)} ms, ${bytes.byteLength.toLocaleString("en")} bytes`;
    say(status, answer.ok ? "good" : "bad", `${answer.status} ${answer.statusText}`.trim() + ` · ${lasted}`);
    reply.append(...shown(answer.headers.get("content-type") ?? "", bytes));
  } catch (error) {
    say(status, "bad", `No reply: ${error.message}. Is the service running?`);
  }
  button.disabled = false;
}

function say(status, kind, words) {
  status.className = `status ${kind}`.trim();
  status.textContent = words;
}

/** What came back: a problem in words first, JSON in colours, other text as it is. */
function shown(kind, bytes) {
  if (!/json|text|xml|svg/.test(kind)) return [element("p", {}, `A file of the kind ${kind || "unknown"}.`)];
  const text = new TextDecoder().decode(bytes);
  if (!kind.includes("json")) return [element("pre", { tabindex: "0" }, text)];
  const value = JSON.parse(text);
  return kind.startsWith("application/problem+json") ? [...problem(value), json(value)] : [json(value)];
}

function problem({ title, detail, errors }) {
  const mistakes = errors.map(({ pointer, detail: words }) =>
    element("li", {}, element("code", {}, pointer || "the whole"), ": ", ...line(words)),
  );
  const words = element("p", {}, element("strong", {}, `${title}.`), " ", ...line(detail));
  // A single mistake stands in the detail already, with its place.
  return mistakes.length > 1 ? [words, element("ul.mistakes", {}, ...mistakes)] : [words];
}

/** The same request as a command, for a shell that reads POSIX quotes. */
function curl({ address, method, headers = {}, body }) {
  const quoted = (text) => `'${text.replaceAll("'", "'\\''")}'`;
  const parts = [`curl -s ${quoted(String(address))}`];
  if (method !== "GET" && method !== "POST") parts.push(`-X ${method}`);
  // The key itself would stay in the history of the shell, so the command takes it from a variable.
  const field = (name, value) => (name === "Authorization" ? `"${name}: Bearer $KEY"` : quoted(`${name}: ${value}`));
  for (const [name, value] of Object.entries(headers)) parts.push(`-H ${field(name, value)}`);
  if (body !== undefined) parts.push(`-d ${quoted(body)}`);
  return parts.join(" \\\n  ");
}
