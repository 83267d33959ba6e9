// What the compiler must refuse. A line that it takes after all is an error of its own (TS2578).

import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";

type Schemas = components["schemas"];
declare const job: Schemas["VoltageDropRequest"];
declare const reply: Schemas["VoltageDropReply"];
declare const fixture: Schemas["FixtureRow"];

export const lengths: Schemas["Length"][] = [
  { value: 30, unit: "m" },
  // @ts-expect-error the unit of a power
  { value: 30, unit: "W" },
  // @ts-expect-error a number as text
  { value: "30", unit: "m" },
  // @ts-expect-error a number without its unit
  30,
  // @ts-expect-error a member that is not listed
  { value: 30, unit: "m", both_ways: true },
];

export const loads: Schemas["Load"][] = [
  { kind: "constant-current", current: { value: 350, unit: "mA" } },
  // @ts-expect-error a member of another kind
  { kind: "constant-current", current: { value: 350, unit: "mA" }, power: { value: 5, unit: "W" } },
  // @ts-expect-error a kind that is not listed
  { kind: "equivalent", power: { value: 50, unit: "W" } },
  // @ts-expect-error volt-amperes in place of watts
  { kind: "constant-power", power: { value: 5, unit: "VA" } },
];

// @ts-expect-error an optional member is left out, never null
export const nulled: Schemas["VoltageDropRequest"] = { ...job, limits: null };

// @ts-expect-error a required member is missing
export const unwired: Schemas["VoltageDropRequest"] = { supply: job.supply };

// @ts-expect-error a conductor that the tables do not list
export const odd: Schemas["ListedCable"] = { kind: "listed", conductor: "11 AWG" };

export function unlooked(): unknown[] {
  return [
    // @ts-expect-error only a solved job has a state of its supply
    reply.supply,
    // @ts-expect-error an optional member, not looked for
    fixture.splice_voltage.value,
    // @ts-expect-error no such member
    fixture.voltage_v,
    // @ts-expect-error only runs have runs
    job.wiring.runs,
  ];
}

// @ts-expect-error a path that is not served
export const nowhere = () => createClient<paths>().POST("/v1/voltage-drops", { body: job });
