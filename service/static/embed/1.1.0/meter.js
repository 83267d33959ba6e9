/**
 * Commissioning with a meter, on a phone: a job is loaded from a file or a paste, each place to read is a card, and what
 * the meter shows is held to what the service expects there. Nothing is kept, here or elsewhere, and nobody but the
 * service is asked.
 */
import { Away, Numbers, Refused, Words, ask, make, sign } from "./calculator.js";

const SETTLED_MS = 300;
const LARGEST_FILE = 2_000_000;
const LANGUAGES = ["ar", "de", "es"];

/** What a commissioning sheet takes of a job; what other studies take beside it says nothing of the wiring. */
const OF_A_JOB = ["id", "units", "supply", "wiring", "conditions", "instrument", "priors"];

const ENGLISH = {
  title: "Commissioning with a meter",
  lead: "Load a job and tick it off with a meter: each card is one reading. Nothing is kept: when this page closes, it forgets everything.",
  file: "Job from a file", paste: "Or paste it here", load: "Show the readings", another: "Load another job",
  what: "The body that was sent to voltage-drop or to the commissioning sheet (JSON), what the calculator handed over, or the commissioning sheet itself.",
  key: "Key for the service", key_hint: "The service asks for one. It stays in this page alone.",
  care: "Before you start",
  mains: "Mains while you read (V)", mains_hint: "Measured at an outlet. Left empty, the values allow for mains that are not known.",
  column: "Mains while you read", places: "Where to read", places_key: "Key places", places_every: "Every fixture",
  stage: "Stage {number}: {name}", expected: "Expected: {low} to {high}", expected_at: "{column}: {low} to {high}",
  nothing_expected: "The wiring as described cannot carry this. Do not switch it on before lengths, sizes and watts are put right.",
  read: "Reading ({unit})", unread: "Not read yet", checking: "Checking…", unchecked: "Not checked yet",
  true_rms: "An averaging meter reads wrong here. Use a true-RMS meter.",
  plan_fails: "This plan does not pass. Do not build it.", plan_warns: "This plan passes with warnings.",
  agrees: "Matches", agrees_outside: "As planned, but not what this lamp is made for", low: "Too low by {by}", high: "Too high by {by}", not_used: "Not judged",
  window: "The lamp works from {low} to {high}.",
  progress: "{read} of {all} read", matching: "{count} match", failing: "{count} do not match", failing_one: "1 does not match",
  result: "What the readings say together",
  none: "Enter a reading to begin.",
  by_sheet: "Each reading is held to the sheet by itself. Load the job in place of its sheet to have the readings judged together.",
  away: "The service does not answer. Your readings are still here.",
  away_until: "The service is busy; it asks for {seconds} seconds. Your readings are still here.",
  left: "Readings of this job that have no card here: {count}.", retry: "Try again", next: "Read next", loading: "Loading…",
  bad: {
    json: "This is no JSON. Load the file as it was saved, or paste all of it.",
    job: "This is no job: it needs “supply” and “wiring”, or the “stages” of a commissioning sheet.",
    short: "This commissioning sheet was asked for with “detail”, so its readings were left out. Load the job, or a sheet asked for without “detail”.",
    large: "This file is too large for a job.",
    file: "This file cannot be read.",
  },
  mistakes: {
    not_a_number: "Enter a number.", negative: "Enter 0 or more: read without the sign.",
    ambiguous: "This may mean two numbers. Enter it without thousands separators.",
    grouped: "Enter the number without spaces or thousands separators.",
  },
  stages: {}, instructions: {},
  cautions: {
    local: "Work on mains belongs to a licensed electrician; local code decides.",
    isolate: "Switch the supply off and isolate it before you touch a terminal or a splice.",
    meter: "Use a meter and leads rated for the job, on the right range, and keep the work dry.",
  },
};

const inLanguage = (tag) => {
  const language = tag.split("-")[0].toLowerCase();
  return LANGUAGES.includes(language) ? language : "en";
};

/** Words of the page's language: what the address asks for, else the visitor's. */
async function spoken() {
  const asked = new URLSearchParams(location.search).get("lang") || navigator.language || "en";
  let tag = "en";
  try {
    [tag] = Intl.getCanonicalLocales(asked);
  } catch {
    // Not a language tag: an address may say anything.
  }
  const language = inLanguage(tag);
  const none = { texts: ENGLISH, language: "en" };
  const found = language === "en" ? none : await fetch(new URL(`meter.${language}.json`, import.meta.url))
    .then(async (reply) => (reply.ok ? { texts: await reply.json(), language } : none), () => none);
  const numbers = new Numbers(tag, found.language === "ar");
  document.documentElement.lang = found.language;
  document.documentElement.dir = found.language === "ar" ? "rtl" : "ltr";
  return new Words(found.language, found.texts, numbers, ENGLISH);
}

/** What was loaded: a job to ask about, or a sheet that was answered before. */
function understood(text) {
  let said;
  try {
    said = JSON.parse(text);
  } catch {
    return { bad: "json" };
  }
  const job = [said, said?.request].find((part) => part?.supply && part?.wiring);
  const readings = Array.isArray(job?.readings) ? job.readings : [];
  const points = job?.points ?? (readings.length ? "every" : "key");
  if (job) return { own: { mains: job.mains, points, readings, limits: job.limits }, job: Object.fromEntries(OF_A_JOB.filter((name) => name in job).map((name) => [name, job[name]])) };
  const sheet = [said, said?.reply].find((part) => Array.isArray(part?.stages) && Array.isArray(part?.mains));
  if (!sheet) return { bad: "job" };
  return sheet.stages.length || !sheet.detail ? { sheet } : { bad: "short" };
}

/** A place in the request, and no more than that: a sheet names what is there beside it. */
const pointed = ({ pointer, number }) => (number === undefined ? { pointer } : { pointer, number });

/** What is read where and with what on, by which a reading of a loaded job finds its card. */
function keyOf({ kind, pointer, number, tap, circuit }, quantity, { on, lit }) {
  return JSON.stringify([kind, pointer, number, tap?.value, circuit, quantity, on, lit?.map(pointed)]);
}

/** One place to read: its card, and what stands in it. */
class Card {
  constructor(page, stage, point) {
    const { words } = page;
    this.page = page;
    this.stage = stage;
    this.point = point;
    this.key = keyOf(point.subject, point.quantity, stage.state);
    this.unit = point.quantity === "current" ? "A" : "V";
    this.verdict = null;
    const id = `point-${point.number}`;
    this.expected = make("p", { class: "expected", id: `${id}-expected` });
    this.input = make("input", {
      id, type: "text", inputmode: "decimal", autocomplete: "off", maxlength: "16",
      "aria-describedby": `${id}-expected ${id}-said`, input: () => page.changed(this),
    });
    this.said = make("p", { class: "said", id: `${id}-said` });
    const name = make("h3", {}, `${words.numbers.shown(point.number)} · `, make("span", { lang: "en", dir: "auto" }, point.name));
    const label = make("label", { for: id }, words.get("read", { unit: this.unit }));
    this.element = make("li", { class: "card" }, name, this.expected, this.#window(), label, this.input, this.said);
    this.expect();
  }

  #window() {
    const { words } = this.page;
    const { window } = this.point;
    if (!window) return null;
    const [low, high] = [window.minimum, window.maximum].map(({ value, unit }) => words.numbers.quantity(value, unit));
    return make("small", {}, words.get("window", { low, high }));
  }

  /** What a sound wiring shows here, for the mains of each column that may hold. */
  expect() {
    const { words, columns } = this.page;
    const { expected } = this.point;
    const lines = columns.map((column) => {
      const row = expected.find(({ mains_number: number }) => number === column.number);
      if (!row) return words.get(this.page.needsTrueRms(this.stage) ? "true_rms" : "nothing_expected");
      const [low, high] = [-1, 1].map((way) => this.#shown(row.value.value + way * row.tolerance.value, way));
      return words.get(columns.length > 1 ? "expected_at" : "expected", { low, high, column: this.page.columnName(column) });
    });
    this.expected.replaceChildren(...[...new Set(lines)].flatMap((line, index) => (index ? [make("br"), line] : [line])));
  }

  /** An end of what is expected, rounded inwards: what is shown as the limit is within it. */
  #shown(value, way) {
    const rounded = Math[way < 0 ? "ceil" : "floor"](value * 100 - way * 1e-6) / 100;
    return this.page.words.numbers.quantity(rounded, this.unit, 2, 2);
  }

  /** The number in it, null for none, or the reason why it is none. */
  get value() {
    return this.page.words.numbers.read(this.input.value) ?? null;
  }

  /** Whether sound wiring leaves this lamp outside its window in every column that may hold. */
  get isOutside() {
    const numbers = this.page.columns.map(({ number }) => number);
    const rows = this.point.expected.filter(({ mains_number: number }) => numbers.includes(number));
    return rows.length > 0 && rows.every(({ verdict }) => verdict === "below" || verdict === "above");
  }

  /** By the sheet alone, where it has one column that holds. */
  bySheet() {
    const [column, another] = this.page.columns;
    const row = !another && this.point.expected.find(({ mains_number: number }) => number === column.number);
    if (!row) return null;
    const off = this.value - row.value.value;
    const by = Math.abs(off) - row.tolerance.value;
    return { code: by <= 0 ? "agrees" : off < 0 ? "low" : "high", by };
  }

  show(verdict) {
    this.verdict = verdict;
    const { words } = this.page;
    const { value } = this;
    const mistake = typeof value === "string" ? value : null;
    this.input.setAttribute("aria-invalid", String(Boolean(mistake)));
    const severity = mistake ? "note" : { agrees: this.isOutside ? "fault" : "good", low: "fault", high: "fault" }[verdict?.code];
    this.element.className = `card ${mistake ? "" : (severity ?? "")}`;
    const by = verdict?.by > 0 ? words.numbers.quantity(Math.ceil(verdict.by * 100) / 100, this.unit, 2, 2) : "";
    const texts = { agrees: this.isOutside ? "agrees_outside" : "agrees", low: "low", high: "high", "not-used": "not_used" };
    const text = mistake ? words.get(`mistakes/${mistake}`)
      : value === null ? words.get("unread")
      : verdict ? words.get(texts[verdict.code] ?? verdict.code, { by }) : words.get(this.page.pending);
    const reason = !mistake && verdict?.reason && make("span", { lang: "en", dir: "auto" }, ` ${verdict.reason}`);
    const shape = value === null ? null : sign(severity ?? "note");
    this.said.replaceChildren(...[shape, make("span", {}, text, reason || null)].filter(Boolean));
  }

  /** The reading as the service takes it. */
  reading(mains) {
    const { subject, quantity } = this.point;
    const { on, lit } = this.stage.state;
    const place = subject.kind === "terminal"
      ? Object.fromEntries(["kind", "tap", "circuit"].filter((name) => name in subject).map((name) => [name, subject[name]]))
      : { kind: "wired", ...pointed(subject) };
    const state = { on, ...(lit ? { lit: lit.map(pointed) } : {}), ...(mains ? { mains } : {}) };
    return { subject: place, quantity: { kind: quantity, value: { value: this.value, unit: this.unit } }, state };
  }
}

/** The page: what was loaded, its cards, and what is said of all of them. */
class Page {
  #asking = new Map();
  #timer = 0;
  /** Whether the cards are for other mains or places than those that stand in the page: then nothing is judged. */
  #stale = false;
  #key = "";
  #loaded = null;
  #all = [];
  #mains = null;

  constructor(words, main) {
    this.words = words;
    this.main = main;
    this.columns = [];
    this.cards = [];
    this.findings = [];
    this.pending = "unchecked";
    document.title = `Lastlamp: ${words.get("title")}`;
    addEventListener("beforeunload", (event) => {
      if (this.cards.some(({ input }) => input.value)) event.preventDefault();
    });
    this.#empty();
  }

  #say(key, values) {
    return this.words.get(key, values);
  }

  /** What a column stands for; the service has names in English alone. */
  columnName({ name, mains }) {
    return this.words.language === "en" || !mains ? name : this.words.numbers.quantity(mains.value, mains.unit);
  }

  /** Where a job is loaded. */
  #empty() {
    this.#stop();
    for (const study of ["commissioning-sheet", "voltage-drop"]) this.#asking.get(study)?.abort();
    [this.cards, this.#loaded, this.#mains, this.#stale] = [[], null, null, false];
    this.error = make("p", { class: "error", role: "alert" });
    const file = make("input", { type: "file", id: "file", accept: ".json,application/json", change: () => this.#read(file) });
    const text = make("textarea", { id: "paste", spellcheck: "false", autocomplete: "off" });
    const form = make("form", { class: "load", submit: (event) => (event.preventDefault(), this.#load(text.value)) },
      make("div", { class: "fields" },
        make("div", {}, make("label", { for: "file" }, this.#say("file")), file),
        make("div", {}, make("label", { for: "paste" }, this.#say("paste")), text)),
      this.#keyField(), this.error, make("p", {}, make("button", { type: "submit" }, this.#say("load"))));
    this.main.replaceChildren(make("h1", {}, this.#say("title")), make("p", {}, this.#say("lead")),
      make("p", { class: "quiet" }, this.#say("what")), form);
  }

  /** A place for a key, once the service asked for one. */
  #keyField() {
    const input = make("input", { id: "key", type: "text", autocomplete: "off", spellcheck: "false",
      input: () => (this.#key = input.value.trim()) });
    input.value = this.#key;
    this.keyField = make("div", { hidden: !this.#key }, make("label", { for: "key" }, this.#say("key")), input,
      make("small", {}, this.#say("key_hint")));
    return this.keyField;
  }

  async #read(file) {
    const [given] = file.files;
    if (!given) return;
    if (given.size > LARGEST_FILE) this.error.textContent = this.#say("bad/large");
    else await given.text().then((text) => this.#load(text), () => (this.error.textContent = this.#say("bad/file")));
  }

  async #load(text) {
    const { job, own, sheet, bad } = understood(text);
    if (bad) {
      this.error.textContent = this.#say(`bad/${bad}`);
      return;
    }
    this.#loaded = job ? { job, own } : { sheet };
    this.error.textContent = this.#say("loading");
    try {
      const found = sheet ?? (await this.#ask("commissioning-sheet", this.#question(own.points, null)));
      this.#lay(found);
      this.#plan(found.summary);
      if (job) await this.#judgePlan();
    } catch (error) {
      // Whoever wrote a sheet by hand may have left anything out.
      if (sheet) this.error.textContent = this.#say("bad/job");
      else this.#refused(error, (said) => this.error.replaceChildren(...said));
    }
  }

  /** What is said of the plan itself where it does not simply pass: readings may match one that must not be built. */
  #plan(summary) {
    const [key, severity] = { fails: ["plan_fails", "fault"], "passes-with-warnings": ["plan_warns", "warning"] }[summary?.verdict] ?? [];
    this.plan.className = `plan ${severity ?? ""}`;
    this.plan.replaceChildren(...(key ? [sign(severity), make("div", {}, make("strong", {}, this.#say(key)), " ",
      make("span", { lang: "en", dir: "auto" }, summary.text.replace(/^(Does not pass|Passes with warnings)\. /, "")))] : []));
  }

  /** The verdict on the whole job, its supply and cables too. A key that may not ask leaves that of the lamps. */
  async #judgePlan() {
    const { job: { instrument: _, priors: __, ...job }, own: { limits } } = this.#loaded;
    try {
      const reply = await this.#ask("voltage-drop", { ...job, ...(limits ? { limits } : {}), detail: "summary" });
      if (reply.summary.verdict !== "passes") this.#plan(reply.summary);
    } catch (error) {
      if (!(error instanceof Away || error instanceof Refused || error.name === "AbortError")) throw error;
    }
  }

  /** Whether nothing is expected in a stage because the meter averages what is no sine. */
  needsTrueRms(stage) {
    return this.#found(stage)?.code === "stage-needs-true-rms";
  }

  /** Why nothing is expected in a stage. */
  #found(stage) {
    return this.findings.find(({ subject }) => subject?.pointer === (stage.subject?.pointer ?? "/wiring"));
  }

  #question(points, mains) {
    const { job, own } = this.#loaded;
    return { ...job, points, mains: mains ? [mains] : own.mains };
  }

  #ask(study, question) {
    this.#asking.get(study)?.abort();
    const asking = new AbortController();
    this.#asking.set(study, asking);
    return ask(new URL(`/v1/${study}`, import.meta.url), this.#key, question, asking.signal);
  }

  #stop() {
    clearTimeout(this.#timer);
    this.#asking.get("readings-check")?.abort();
  }

  /** What went wrong, in words; nothing where a newer question took its place. */
  #refused(error, tell, again = null) {
    if (error instanceof Away) {
      const seconds = error.seconds && this.words.numbers.shown(error.seconds);
      const retry = again && make("button", { type: "button", class: "second", click: again }, this.#say("retry"));
      tell([make("span", {}, this.#say(seconds ? "away_until" : "away", { seconds }), " "), retry].filter(Boolean));
    } else if (error instanceof Refused) {
      const { problem } = error;
      if (problem.status === 401 || problem.code?.startsWith("key-")) this.keyField.hidden = false;
      const lines = problem.errors?.length ? problem.errors : [problem];
      tell([make("span", { lang: "en", dir: "auto" }, lines.slice(0, 5).map(({ detail }) => detail).join(" "))]);
    } else if (error.name !== "AbortError") throw error;
  }

  /** Lays out a sheet. What stood in cards of the same place stays. */
  #lay(sheet) {
    const before = new Map(this.cards.map(({ key, input }) => [key, input.value]));
    this.#all = sheet.mains;
    this.findings = sheet.findings ?? [];
    this.columns = this.#all;
    this.cards = [];
    const first = !before.size && !document.getElementById("stages");
    const stages = sheet.stages.map((stage) => this.#stage(stage));
    if (first) this.#frame();
    document.getElementById("stages").replaceChildren(...stages);
    for (const card of this.cards) card.input.value = before.get(card.key) ?? "";
    if (first && this.#loaded.job) this.#fill(this.#loaded.own.readings);
    if (this.#loaded.sheet && this.#all.length > 1) this.#column();
    for (const card of this.cards) card.show(null);
    this.changed();
    if (first) document.querySelector("h1").focus();
  }

  /** Puts the readings that came with a job into their cards, and says how many have none. */
  #fill(readings) {
    const cards = new Map(this.cards.map((card) => [card.key, card]));
    const left = readings.filter((reading) => {
      const { subject, quantity, state } = reading ?? {};
      const card = subject && quantity?.value && state && cards.get(keyOf(subject, quantity.kind, state));
      if (card?.unit !== quantity?.value?.unit) return true;
      card.input.value = this.words.numbers.shown(quantity.value.value, 6);
      return false;
    });
    if (left.length) this.error.textContent = this.#say("left", { count: this.words.numbers.shown(left.length) });
  }

  /** What stands round the cards: cautions, the mains, and what all readings say. */
  #frame() {
    const cautions = Object.keys(ENGLISH.cautions).map((code) => make("li", {}, this.#say(`cautions/${code}`)));
    this.result = make("div", { class: "result", id: "result" });
    this.conclusion = make("div", { class: "conclusion", "aria-live": "polite" });
    this.more = make("p", {});
    this.plan = make("div", { class: "plan", id: "plan", role: "status" });
    this.result.append(make("h2", {}, this.#say("result")), this.conclusion, this.more);
    this.progress = make("div", { class: "progress", role: "status" });
    this.main.replaceChildren(
      make("h1", { tabindex: "-1" }, this.#say("title")), this.plan,
      make("div", { class: "care" }, make("strong", {}, this.#say("care")), make("ul", {}, ...cautions)),
      this.#settings(), make("div", { id: "stages" }), this.result,
      make("p", {}, make("button", { type: "button", class: "second", click: () => this.#empty() }, this.#say("another"))),
      this.progress);
  }

  #settings() {
    const fields = make("div", { class: "fields" });
    this.error = make("p", { class: "error", role: "alert" });
    const field = (name, control, hint) =>
      make("div", {}, make("label", { for: name }, this.#say(name)), control, hint && make("small", {}, hint));
    if (this.#loaded.job) {
      this.mainsField = make("input", { id: "mains", type: "text", inputmode: "decimal", autocomplete: "off", maxlength: "8",
        change: () => this.#again() });
      const options = ["key", "every"].map((value) => make("option", { value }, this.#say(`places_${value}`)));
      this.placesField = make("select", { id: "places", change: () => this.#again() }, ...options);
      this.placesField.value = this.#loaded.own.points;
      if (this.#all.some(({ mains }) => mains)) fields.append(field("mains", this.mainsField, this.#say("mains_hint")));
      fields.append(field("places", this.placesField, null));
    } else if (this.#all.length > 1) {
      const options = this.#all.map((column) => make("option", { value: String(column.number) }, this.columnName(column)));
      this.columnField = make("select", { id: "column", change: () => this.#column() }, ...options);
      this.columnField.value = String(this.#all[Math.floor((this.#all.length - 1) / 2)].number);
      fields.append(field("column", this.columnField, null));
    }
    return make("div", {}, fields, this.#keyField(), this.error);
  }

  #column() {
    this.columns = this.#all.filter(({ number }) => String(number) === this.columnField.value);
    for (const card of this.cards) card.expect();
    this.changed();
  }

  /** The sheet for other mains or other places. */
  async #again() {
    const typed = this.words.numbers.read(this.mainsField.value);
    const mistake = typeof typed === "string";
    this.mainsField.setAttribute("aria-invalid", String(mistake));
    this.error.textContent = mistake ? this.#say(`mistakes/${typed}`) : "";
    this.#stale = true;
    this.changed();
    if (mistake) return;
    const mains = typed === null ? null : { value: typed, unit: "V" };
    try {
      const sheet = await this.#ask("commissioning-sheet", this.#question(this.placesField.value, mains));
      this.#mains = mains;
      this.#stale = false;
      this.#lay(sheet);
    } catch (error) {
      this.#refused(error, (said) => this.error.replaceChildren(...said), () => this.#again());
    }
  }

  #stage(stage) {
    const { words } = this;
    const never = this.#found(stage)?.code === "stage-cannot-be-carried" && stage.test_points.every(({ expected }) => !expected.length);
    const cards = never ? [] : stage.test_points.map((point) => new Card(this, stage, point));
    this.cards.push(...cards);
    const own = words.language !== "en" && words.has(`stages/${stage.code}`) && this.#loaded.job?.wiring.form !== "spans";
    const place = /^\/wiring\/runs\/(\d+)$/.exec(stage.subject?.pointer ?? "")?.[1];
    const run = this.#loaded.job?.wiring.runs?.[place]?.name ?? (place && words.numbers.shown(Number(place) + 1));
    const said = (list, text) => (own ? make("span", {}, words.get(`${list}/${stage.code}`, { run: run ?? "" }))
      : make("span", { lang: "en", dir: "auto" }, text));
    const [before, after] = words.get("stage", { number: words.numbers.shown(stage.number), name: "\u0000" }).split("\u0000");
    return make("section", {},
      make("h2", {}, before, said("stages", stage.name), after),
      ...(never ? [make("p", { class: "never" }, sign("fault"), this.#say("nothing_expected"))]
        : [make("p", { class: "instruction" }, said("instructions", stage.instruction)),
          make("ol", { class: "cards" }, ...cards.map(({ element }) => element))]));
  }

  /** Something was typed: red or green at once by the sheet where it can tell, and then by the service. */
  changed() {
    this.#stop();
    const ready = this.cards.filter(({ value }) => typeof value === "number");
    this.pending = this.#loaded.job && !this.#stale ? "checking" : "unchecked";
    for (const card of this.cards) card.show(ready.includes(card) && !this.#stale ? card.bySheet() : null);
    this.#count();
    this.conclusion.replaceChildren(this.#say(ready.length ? this.pending : "none"));
    this.more.textContent = "";
    if (!ready.length || this.#stale) return;
    if (this.#loaded.job) this.#timer = setTimeout(() => this.#check(ready), SETTLED_MS);
    else this.conclusion.replaceChildren(this.#say("by_sheet"));
  }

  async #check(ready) {
    const question = { ...this.#loaded.job, readings: ready.map((card) => card.reading(this.#mains)) };
    try {
      this.#judged(ready, await this.#ask("readings-check", question));
    } catch (error) {
      this.pending = "unchecked";
      for (const card of ready) card.show(card.verdict);
      this.#refused(error, (said) => this.conclusion.replaceChildren(sign("warning"), make("div", {}, ...said)), () => this.changed());
    }
  }

  #judged(ready, reply) {
    ready.forEach((card, place) => {
      const { verdict: code, discrepancy, uncertainty, reason } = reply.readings[place];
      const by = discrepancy && uncertainty && Math.abs(discrepancy.value) - uncertainty.value;
      const found = reason && reply.findings.find((row) => row.code === reason && row.subject.pointer === `/readings/${place}`);
      card.show({ code, by, reason: found?.message });
    });
    this.#count();
    const severity = { agrees: "good", disagrees: "fault", contradicts: "fault" }[reply.verdict] ?? "note";
    this.conclusion.replaceChildren(sign(severity),
      make("span", { lang: "en", dir: "auto" }, reply.summary?.text ?? reply.conclusion));
    this.more.replaceChildren();
    const next = reply.next_reading?.message;
    if (next) this.more.append(make("strong", {}, this.#say("next")), make("span", { lang: "en", dir: "auto" }, next));
  }

  /** How many are read, and how many of those match. */
  #count() {
    const shown = (count) => this.words.numbers.shown(count);
    const read = this.cards.filter(({ value }) => typeof value === "number");
    const [matching, failing] = [["agrees"], ["low", "high"]].map((codes) =>
      read.filter(({ verdict }) => codes.includes(verdict?.code)).length);
    const parts = [this.#say("progress", { read: shown(read.length), all: shown(this.cards.length) })];
    if (matching) parts.push(this.#say("matching", { count: shown(matching) }));
    if (failing) parts.push(this.#say(failing === 1 ? "failing_one" : "failing", { count: shown(failing) }));
    const severity = failing ? "fault" : matching && matching === this.cards.length && !this.cards.some(({ isOutside }) => isOutside) ? "good" : null;
    this.progress.replaceChildren(...[severity && sign(severity), make("a", { href: "#result" }, parts.join(" · "))].filter(Boolean));
  }
}

export { ENGLISH };
new Page(await spoken(), document.querySelector("main"));
