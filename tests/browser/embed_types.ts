/** What a shop in TypeScript writes; the tests check it against the calculator's own types, and do not run it. */
import type { Choice, FixtureGroup, StockCable, StockTransformer } from "./calculator";

const cable: StockCable = {
  id: "lv-12",
  conductor: "12 AWG",
  price: { kind: "per-length", amount: "0.74", per: "ft" },
};
const transformer: StockTransformer = {
  id: "T-150",
  rating: { value: 150, unit: "VA" },
  regulation_percent: 5,
  taps: [{ value: 12, unit: "V" }],
};

const group: FixtureGroup = { run: 2, cable: "lv-12", count: 4, watts: 6, first: 20, spacing: 15 };

const lamp = document.querySelector("last-lamp");
if (lamp) {
  lamp.stock = [cable, transformer];
  lamp.groups = [group];
  lamp.name = "run";
  lamp.addEventListener("last-lamp-choice", ({ detail }) => {
    const choice: Choice = detail;
    const bought: [string | undefined, number] = [choice.cable.id, choice.cable.length.value];
    const laid: (string | undefined)[] = choice.cables.map(({ run }) => run);
    console.log(bought, laid, choice.verdict === "good", lamp.answer?.reply.status);
  });
  lamp.addEventListener("last-lamp-problem", ({ detail }) => {
    if (detail.kind === "away") console.log(detail.retryAfterSeconds);
    else console.log(detail.problem.code);
  });
  // @ts-expect-error An answer is given, never set.
  lamp.answer = null;
}
