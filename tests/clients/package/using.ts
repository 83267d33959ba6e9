// What a program does with the installed package. Run as `node using.js ADDRESS JITTER`; prints what came as JSON.

import { ask, ProblemError, ReplyError, type Job } from "lastlamp-client";

const service = process.argv[2] ?? "";
const jitter = () => Number(process.argv[3]);
const job: Job<"/v1/voltage-drop"> = {
  supply: { kind: "dc-supply", output: { value: 12, unit: "V" } },
  wiring: {
    form: "even",
    count: 2,
    length: { value: 20, unit: "m" },
    cable: { kind: "listed", conductor: "1.5 mm2" },
    load: { kind: "constant-power", power: { value: 5, unit: "W" } },
  },
};
// @ts-expect-error a member that the contract does not list is an error of the types as well
const misspelt: Job<"/v1/voltage-drop"> = { ...job, wirring: job.wiring };

async function outcome(asked: () => Promise<{ summary: { text: string } }>): Promise<unknown> {
  try {
    return (await asked()).summary.text;
  } catch (error) {
    if (error instanceof ProblemError) {
      return { code: error.problem.code, message: error.message, retry_after: error.retryAfter ?? null };
    }
    if (error instanceof ReplyError) return { status: error.status };
    return { error: String(error) };
  }
}

console.log(
  JSON.stringify({
    answered: await outcome(() => ask(service, "/v1/voltage-drop", job, { jitter })),
    refused: await outcome(() => ask(service, "/v1/voltage-drop", misspelt)),
    impatient: await outcome(() => ask(service, "/v1/voltage-drop", job, { retries: 0, key: "fern" })),
    ended: await outcome(() => ask(service, "/v1/voltage-drop", job, { signal: AbortSignal.abort("over") })),
  }),
);
