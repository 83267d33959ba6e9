// A quoting program in small: it asks through the generated types and prints what it read as JSON.
// Run as `node out/main.js ADDRESS`; the example jobs come from the document, as typed literals.

import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";
import { examples } from "./examples.js";

type Schemas = components["schemas"];
// Sheets and drawings are other forms of the same replies; this program reads JSON alone.
type Json = "application/json" | "application/problem+json";
type Client = ReturnType<typeof createClient<paths, Json>>;

const ownJob: Schemas["VoltageDropRequest"] = {
  supply: { kind: "transformer", secondary: { value: 12, unit: "V" } },
  wiring: {
    form: "even",
    count: 3,
    length: { value: 30, unit: "m" },
    cable: { kind: "listed", conductor: "1.5 mm2" },
    load: { kind: "constant-power", power: { value: 5, unit: "W" } },
  },
};

// Every kind is named, so that a new one is a type error here.
function watts(load: Schemas["FixtureLoad"]): number {
  switch (load.kind) {
    case "constant-power":
    case "constant-resistance":
    case "filament":
      return load.power.value;
    case "constant-current":
      return 0;
    case "strip":
      return load.length.value * load.power_per_length.value;
    case "zip":
      return load.constant_power_part.value;
    default:
      return load satisfies never;
  }
}

function labels(wiring: Schemas["Wiring"]): number[] {
  switch (wiring.form) {
    case "runs":
      return wiring.runs.flatMap((run) => run.fixtures.map((fixture) => fixture.load === undefined ? 0 : watts(fixture.load)));
    case "even":
    case "totals":
      return [watts(wiring.load)];
    case "spans":
      return wiring.fixtures.map((fixture) => fixture.load === undefined ? 0 : watts(fixture.load));
    default:
      return wiring satisfies never;
  }
}

function answer(reply: Schemas["VoltageDropReply"]) {
  const findings = reply.findings.map(({ code, severity, subject }) => [code, severity, subject.pointer]);
  const known = { findings, assumptions: reply.assumptions.map((assumption) => assumption.code) };
  switch (reply.status) {
    case "solved": {
      const volts = reply.fixtures.map((fixture) => fixture.voltage.value);
      return { status: reply.status, ...known, volts, terminal: reply.supply.terminal.value };
    }
    case "no-operating-point":
      return { status: reply.status, ...known, could_carry: reply.load_margin.exact ?? null };
    default:
      return reply satisfies never;
  }
}

async function ask(client: Client, body: Schemas["VoltageDropRequest"]) {
  const { data, error } = await client.POST("/v1/voltage-drop", { body });
  if (error !== undefined) {
    return { code: error.code, pointers: error.errors.map((item) => item.pointer) };
  }
  return answer(data);
}

// The same job, of which no more is wanted than the volts of each lamp.
async function inShort(client: Client) {
  const { data } = await client.POST("/v1/voltage-drop", { body: { ...ownJob, detail: "fixtures" } });
  if (data?.status !== "solved") return {};
  const volts = data.lamps?.map((lamp) => lamp.voltage.value);
  return { detail: data.detail, volts, fixtures: data.fixtures.length, spans: data.spans.length };
}

async function conductors(client: Client): Promise<string[]> {
  const { data } = await client.GET("/v1/conductors");
  return data === undefined ? [] : data.conductors.map((row) => row.conductor);
}

const client = createClient<paths, Json>({ baseUrl: process.argv[2] });
const jobs: Record<string, Schemas["VoltageDropRequest"]> = { own: ownJob, ...examples["/v1/voltage-drop"] };
const answers: Record<string, unknown> = {};
for (const [name, job] of Object.entries(jobs)) {
  answers[name] = await ask(client, job);
}
const asked = Object.fromEntries(Object.entries(jobs).map(([name, job]) => [name, labels(job.wiring)]));
const short = await inShort(client);
console.log(JSON.stringify({ answers, labels: asked, short, conductors: await conductors(client) }));
