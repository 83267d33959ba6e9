/**
 * <last-lamp>: what each fixture on a low-voltage run gets, on the page of somebody who sells them.
 *
 * One file on purpose: subresource integrity covers the file that a page names and nothing that it imports. It needs
 * no build, makes no markup from text, keeps nothing, and asks nobody but the service that it came from.
 */

const VERSION = "1.1.0";

/** Files that go with this one, each with the hash under which alone it is believed. */
const COMPANIONS = {
  "calculator.css": "sha384-15u9qfg6nlNWPKdYhYYoIxRrqNSjF7bZmeNmpuZKhhhQtiSu9YO49j5beOx73wrq",
  "words.ar.json": "sha384-RJdjQmshX8kNcqqazfDzNWZ5zXSoIIXRCiXXcox0yARr2RFs26c0ykZak7q4QqV4",
  "words.de.json": "sha384-X13/V5AZ5Y+Ftp52Y5slR2doSBpCpP+Rel6xkgUQhVmC+jlLOWUC0AEdtoWa+XO7",
  "words.es.json": "sha384-cQu0FAVbrT0Tt/FZEYc7RVmfuDcwwcZdeB0AQxr5JETY+DybRTTrsGts1fcvBH5t",
};
const RIGHT_TO_LEFT = ["ar"];

const SETTLED_MS = 350;
const ANNOUNCED_MS = 600;
const PATIENCE_MS = 20_000;
const COMPANIONS_MS = 3_000;
const FEET_IN_METRE = 1 / 0.3048;
const SHAPES_UP_TO = 60;
const TRIED_AT_MOST = 5;

const SIZES = {
  us: ["18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG"],
  metric: ["0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2"],
};
const USUAL_SIZE = { us: "12 AWG", metric: "2.5 mm2" };

const RUN = "/wiring/runs/0";
const LINE = `${RUN}/fixtures/0`;
const ANY_RUN = /^\/wiring\/runs\/(\d+)/;
const ANY_LINE = /^\/wiring\/runs\/(\d+)\/fixtures\/(\d+)/;
const MOST_GROUPS = 12;

/** The fixtures to begin with where the page names none, so that there is something to see; not in a form. */
const BEGINNING = {
  us: { count: 8, watts: 5, first: 25, spacing: 12 },
  metric: { count: 8, watts: 5, first: 8, spacing: 4 },
};

/** Every input: its fieldset, what it takes, and the places of a request that it fills. `more` starts out folded. */
const FIELDS = [
  { name: "transformer", group: "supply", choices: "transformers" },
  { name: "kind", group: "supply", choices: ["transformer", "dc-supply"] },
  { name: "volts", group: "supply", choices: ["12", "15", "24"], places: ["/wiring/nominal_voltage"] },
  {
    name: "tap", group: "supply", unit: "V", choices: "taps",
    places: ["/supply/secondary", "/supply/output", "/supply/taps", `${RUN}/tap`],
  },
  { name: "rating", group: "supply", unit: "VA", places: ["/supply/winding/rating", "/supply/rating"] },
  { name: "regulation", group: "supply", more: true, unit: "%", places: ["/supply/winding"] },
  { name: "measured", group: "supply", more: true, unit: "V", places: ["/supply/open_circuit"] },
  { name: "mains", group: "supply", more: true, choices: ["range", "rated"], places: ["/conditions"] },
  { name: "cable", group: "cable", choices: "cables", places: [`${RUN}/cable`] },
  { name: "units", group: "cable", choices: ["us", "metric"], places: ["/units"] },
  { name: "count", group: "fixtures", required: true, least: 1, places: [`${LINE}/count`] },
  { name: "watts", group: "fixtures", required: true, unit: "W", places: [`${LINE}/load/power`] },
  { name: "first", group: "fixtures", required: true, unit: "length", places: [`${LINE}/at`] },
  { name: "spacing", group: "fixtures", required: true, unit: "length", places: [`${LINE}/spacing`] },
  { name: "lamp", group: "fixtures", more: true, choices: ["led", "halogen"] },
  { name: "volt_amperes", group: "fixtures", more: true, unit: "VA", places: [`${LINE}/load/apparent_power`] },
  { name: "power_factor", group: "fixtures", more: true, places: [`${LINE}/load/power_factor`] },
  { name: "lowest", group: "fixtures", more: true, unit: "V", places: [`${LINE}/window/minimum`] },
  { name: "highest", group: "fixtures", more: true, unit: "V", places: [`${LINE}/window/maximum`] },
];

/** Attributes that are no inputs. */
const SETTINGS = ["lang", "service", "key", "browser-key", "scheme", "level", "taps", "maximum-drop", "currency", "runs"];

/** The inputs of one more group of fixtures: the run that it is on, and what that run has of its own. */
const FURTHER = [
  { name: "run", choices: "runs" },
  ...["cable", "tap"].map((own) => FIELDS.find(({ name }) => name === own)),
  ...FIELDS.filter(({ group }) => group === "fixtures"),
];

/** A copy that no framework watches; a reactive proxy cannot be cloned, but it can be read. */
function plain(value) {
  if (Array.isArray(value)) return value.map(plain);
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([name, part]) => [name, plain(part)]));
}

/** The list that a page gives: an array, or what a framework keeps one in. */
function listed(given, name) {
  const list = Array.isArray(given) ? given : given?.value;
  if (!Array.isArray(list)) throw new TypeError(`${name} is an array.`);
  return plain(list);
}

const isWithin = (pointer, place) => pointer === place || pointer.startsWith(`${place}/`);
const attributeOf = (name) => name.replaceAll("_", "-");

const SVG = "http://www.w3.org/2000/svg";

/** Makes an element of HTML; text stays text, functions are listeners, what is null or false is left out. */
export function make(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

function draw(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") element.addEventListener(name, value);
    else if (isThere(value) && value !== false) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.filter(isThere));
  return element;
}

/** A sign that is told apart by its shape, for those who do not see the colour. */
export function sign(severity) {
  const shapes = {
    good: ["M10 2a8 8 0 1 0 0 16a8 8 0 0 0 0-16z", "M6.2 10.4l2.6 2.6l5-5.4"],
    warning: ["M10 2.2L18.6 17.4H1.4z", "M10 8v4.4M10 14.4v1.2"],
    fault: ["M6.6 2h6.8L18 6.6v6.8L13.4 18H6.6L2 13.4V6.6z", "M7 7l6 6M13 7l-6 6"],
    note: ["M3 3h14v14H3z", "M10 9.2v4.8M10 5.8v1.2"],
  };
  const [outline, inside] = shapes[severity] ?? shapes.note;
  const paths = [draw("path", { d: outline, class: "outline" }), draw("path", { d: inside, class: "inside" })];
  return draw("svg", { class: `sign ${severity}`, viewBox: "0 0 20 20", "aria-hidden": "true" }, ...paths);
}

/** Numbers as one locale writes and reads them. */
export class Numbers {
  constructor(locale, isolated) {
    this.locale = locale;
    this.isolated = isolated;
    this.formats = new Map();
    this.decimal = this.shown(1.5, 1).replace(/[\d\u0660-\u0669\u06f0-\u06f9]/g, "") || ".";
  }

  shown(value, digits = 2, atLeast = 0) {
    const key = `${digits} ${atLeast}`;
    const options = { maximumFractionDigits: digits, minimumFractionDigits: atLeast, useGrouping: false };
    if (!this.formats.has(key)) this.formats.set(key, new Intl.NumberFormat(this.locale, options));
    return this.formats.get(key).format(value);
  }

  /** A number with its unit, in this order even where the text around it runs right to left. */
  quantity(value, unit, digits = 2, atLeast = 0) {
    const names = { percent: "%", ratio: "", mm2: "mm²" };
    return this.together(`${this.shown(value, digits, atLeast)}\u00a0${names[unit] ?? unit}`.trim());
  }

  /** A size as the service writes it, such as `1.5 mm2`; what is none stays as it is. */
  size(text) {
    const [, value, unit] = /^([\d.]+) (\S+)$/.exec(text) ?? [];
    return unit ? this.quantity(Number(value), unit) : text;
  }

  /** Volts to two decimals, rounded down or up where "nearest" could make a failure look like a pass. */
  volts(value, way = "round") {
    const slack = { floor: 1e-6, ceil: -1e-6 }[way] ?? 0;
    return this.quantity(Math[way](value * 100 + slack) / 100, "V", 2, 2);
  }

  /**
   * Volts beside a limit that they break, as the sentences of the service have it: the nearest two decimals, but
   * never those of the limit itself.
   */
  judged(value, limit) {
    const nearest = this.volts(value);
    const reads = nearest !== this.volts(limit) || value === limit;
    const beyond = reads ? nearest : this.volts(value, value < limit ? "floor" : "ceil");
    if (reads || beyond !== nearest) return beyond;
    return this.quantity(value, "V", this.compared({ value }, { value: limit }), 2);
  }

  /** Keeps numbers and signs in order where the text around them runs the other way. */
  together(text) {
    return this.isolated ? `\u2066${text}\u2069` : text;
  }

  /** As many decimals as tell a measured value from the limit that it breaks. */
  compared(measured, limit) {
    let digits = 2;
    while (digits < 4 && this.shown(measured.value, digits) === this.shown(limit?.value ?? NaN, digits)) digits += 1;
    return digits;
  }

  /**
   * Reads what somebody typed: a number, null for nothing, or the reason why it cannot be read.
   *
   * Either decimal sign is taken, but "1,500" (or "1.500" where the comma is decimal) may mean two things a thousand
   * apart, and neither is guessed.
   */
  read(typed) {
    const latin = (digit) => digit.charCodeAt(0) & 15;
    const text = typed.trim().replace(/[\u0660-\u0669\u06f0-\u06f9]/g, latin).replace("\u066b", ".");
    if (!text) return null;
    if (/\d[.,\s'\u2019\u066c]\d.*[.,\s'\u2019\u066c]|\d[\s'\u2019\u066c]\d/.test(text)) return "grouped";
    if (/^[-\u2212]\d*[.,]?\d+$/.test(text)) return "negative";
    if (!/^(\d+[.,]?\d*|[.,]\d+)$/.test(text)) return "not_a_number";
    const foreign = this.decimal === "," ? "." : ",";
    if (/^[1-9]\d{0,2}[.,]\d{3}$/.test(text) && text.includes(foreign)) return "ambiguous";
    return Number(text.replace(",", "."));
  }
}

/** Texts of one language over English; what neither knows is said as the service says it. */
export class Words {
  constructor(language, texts, numbers, english = ENGLISH) {
    this.english = english;
    this.language = language;
    this.texts = texts;
    this.numbers = numbers;
  }

  get(key, values = {}) {
    return this.#filled(this.#template(key) ?? key, values);
  }

  has(key) {
    return this.#template(key) !== undefined;
  }

  /** Bounds as the service writes them (`>= 1`, `<= 2000`), as people do. */
  bounds(allowed = []) {
    const named = { ">=": "low", ">": "above", "<=": "high", "<": "below" };
    const bound = (text) => /^(>=|>|<=|<) (-?[\d.]+(?:e[+-]?\d+)?)$/.exec(text);
    if (!allowed.length || !allowed.every(bound)) return null;
    const values = allowed.map(bound).map(([, way, value]) => [named[way], this.numbers.shown(Number(value), 6)]);
    return this.get(`bounds/${values.map(([way]) => way).sort().join("_")}`, Object.fromEntries(values));
  }

  #template(key) {
    const found = (texts) => key.split("/").reduce((part, name) => part?.[name], texts);
    return found(this.texts) ?? found(this.english);
  }

  #filled(template, values) {
    return template.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
  }

  /** Node for a text of the service: its code in this language, or else its own English marked as such. */
  coded(list, row, values = {}) {
    const text = this.#filled(this.#template(`${list}/${row.code}`) ?? "{}", values);
    // A text with a part that nobody gave says less than the service does.
    if (/\{\w*\}/.test(text)) return make("span", { lang: "en", dir: "ltr" }, row.message ?? row.detail ?? row.code);
    return make("span", {}, text);
  }

  /** What a finding, or several of one code, say. */
  finding(rows, places) {
    const worst = rows.reduce((one, other) => (isWorse(other, one) ? other : one));
    const { measured, limit, parameters } = worst;
    const values = Object.fromEntries(parameters.map(({ name, value }) => [name, value]));
    if (values.conductor) values.conductor = this.numbers.size(values.conductor);
    const digits = measured && limit ? this.numbers.compared(measured, limit) : 2;
    if (measured) values.measured = this.#measured(worst, digits);
    if (limit) values.limit = this.numbers.quantity(limit.value, limit.unit, digits);
    values.where = this.#place(rows, places);
    const text = this.coded("findings", worst, values);
    if (values.corner && !text.lang) text.append(` (${this.#corner(values.corner)})`);
    return text;
  }

  /** What was found, never rounded so that it looks better than it is. */
  #measured({ measured: { value, unit }, limit }, digits) {
    if (unit !== "V") return this.numbers.quantity(value, unit, digits);
    return limit ? this.numbers.judged(value, limit.value) : this.numbers.volts(value);
  }

  /** Where rows are: of fixtures their numbers, with the letter of their group where there are several. */
  #place(rows, places) {
    const { pointer } = rows[0].subject;
    if (!ANY_LINE.test(pointer)) {
      const run = places.get(ANY_RUN.exec(pointer)?.[0]);
      return run ?? this.get(pointer.startsWith("/supply") ? "the_supply" : "the_run");
    }
    const groups = new Map();
    for (const { subject } of rows) {
      const [line] = ANY_LINE.exec(subject.pointer);
      groups.set(line, [...(groups.get(line) ?? []), subject.number].filter(isThere));
    }
    const said = [...groups].map(([line, numbers]) =>
      [places.get(line), numbers.length ? this.#ranges(numbers) : null].filter(isThere).join("\u00a0"),
    );
    const number = said.filter(Boolean).join(", ");
    if (!number) return this.get("the_fixture");
    return this.get(rows.length > 1 ? "fixture_numbers" : "fixture_number", { number });
  }

  #ranges(numbers) {
    const ranges = [];
    for (const number of [...numbers].sort((one, other) => one - other)) {
      const last = ranges.at(-1);
      if (last && number <= last[1] + 1) last[1] = number;
      else ranges.push([number, number]);
    }
    const text = ([start, end]) => [...new Set([start, end])].map((n) => this.numbers.shown(n)).join("–");
    return this.numbers.together(ranges.map(text).join(", "));
  }

  #corner(corner) {
    return corner.split(", ").map((part) => this.#template(`corners/${part}`) ?? part).join(", ");
  }
}

function isWorse({ code, measured }, other) {
  if (!measured || !other.measured) return false;
  return code.includes("below") ? measured.value < other.measured.value : measured.value > other.measured.value;
}

/** A text of the service without the sentences that name a study or a member, which only a program can ask for. */
function forVisitors(text) {
  return text.replace(/ [^.!?]*`[a-z_.-]+`[^.!?]*[.!?]/g, "");
}

/** Of a loading that proposes no transformer: faults, and what keeps the nearest from passing. */
function speaksAgainst({ nearest }) {
  const codes = new Set(["no-transformer-passes", ...(nearest?.broken ?? [])]);
  return ({ severity, code }) => severity === "fault" || codes.has(code);
}

/** Findings of one code and severity about fixtures are one sentence: two hundred alike would hide the others. */
function gathered(findings) {
  const groups = new Map();
  for (const finding of findings) {
    const alike = ANY_LINE.test(finding.subject.pointer);
    const key = alike ? `${finding.severity} ${finding.code}` : finding;
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(finding);
  }
  const rank = ([{ severity }]) => ({ fault: 0, warning: 1 })[severity] ?? 2;
  return [...groups.values()].sort((one, other) => rank(one) - rank(other));
}

const quantity = (value, unit) => ({ value, unit });
const volts = (value) => quantity(value, "V");
const isThere = (value) => value !== null && value !== undefined;
const without = (object) => Object.fromEntries(Object.entries(object).filter(([, value]) => isThere(value)));

/** The job as the service takes it: read numbers and chosen names, the runs made of them, and what was picked. */
function jobOf(values, runs, transformer, maximumDrop) {
  const job = {
    units: values.units,
    supply: supplyOf(values, transformer),
    wiring: wiringOf(values, runs),
  };
  if (maximumDrop) job.limits = { maximum_drop_percent: maximumDrop };
  if (values.mains === "range" && values.kind !== "dc-supply") {
    job.conditions = { mains: { kind: "named", range: values.units === "us" ? "outlet" : "en-50160" } };
  }
  return job;
}

function supplyOf(values, transformer) {
  const wanted = values.tap ?? Number(values.volts);
  const offered = (transformer?.taps ?? []).map(({ value }) => value);
  const terminal = !offered.length || offered.includes(wanted) ? wanted : offered[0];
  if (!transformer && values.kind === "dc-supply") {
    const rating = values.rating === null ? null : quantity(values.rating, "W");
    return without({ kind: "dc-supply", output: volts(values.measured ?? terminal), rating });
  }
  const rating = transformer ? transformer.rating : values.rating === null ? null : quantity(values.rating, "VA");
  const regulation = (transformer ? transformer.regulation_percent : values.regulation) ?? 0;
  return without({
    kind: "transformer",
    secondary: volts(terminal),
    winding: rating && { rating, regulation_percent: regulation },
    open_circuit: values.measured === null ? null : { voltage: volts(values.measured) },
    taps: transformer?.taps ?? values.taps,
    circuits: transformer?.circuits,
    minimum_load: transformer?.minimum_load,
  });
}

/** Transformers to try, the smallest first, that can carry what the fixtures draw. */
function carriers(transformers, { wiring }) {
  const drawn = wiring.runs.flatMap(({ fixtures }) => fixtures).reduce((sum, { count, load }) =>
    sum + count * Math.max(load.power.value, load.apparent_power?.value ?? 0), 0);
  const rated = ({ rating }) => rating.value * (rating.unit === "kVA" ? 1000 : 1);
  const enough = transformers.filter((item) => rated(item) >= drawn);
  return enough.sort((one, other) => rated(one) - rated(other)).slice(0, TRIED_AT_MOST);
}

function wiringOf(values, runs) {
  const laid = runs.map(({ name, cable: { conductor, material, stranding }, tap, groups }) => without({
    name,
    tap,
    cable: without({ kind: "listed", conductor, material, stranding }),
    fixtures: groups.map((group) => lineOf({ ...values, ...group })),
  }));
  return { form: "runs", nominal_voltage: volts(Number(values.volts)), runs: laid };
}

function lineOf(values) {
  const unit = values.units === "us" ? "ft" : "m";
  return without({
    name: values.letter,
    at: quantity(values.first, unit),
    count: values.count,
    spacing: values.count > 1 ? quantity(values.spacing, unit) : null,
    load: loadOf(values),
    window: values.lowest === null ? null : { minimum: volts(values.lowest), maximum: volts(values.highest) },
  });
}

/** How far along its cable the last fixture of a run stands. */
function lengthOf({ fixtures }) {
  const ends = fixtures.map(({ at, spacing, count }) => at.value + (spacing?.value ?? 0) * (count - 1));
  return quantity(Math.max(...ends), fixtures[0].at.unit);
}

/** What runs and groups of fixtures are called, by their pointers into the request. */
function placesIn({ wiring }) {
  return new Map(wiring.runs.flatMap(({ name, fixtures }, run) => [
    [`/wiring/runs/${run}`, name],
    ...fixtures.map((line, place) => [`/wiring/runs/${run}/fixtures/${place}`, line.name]),
  ]));
}

/** The volts that suit every fixture, as the service judged them; null where no volts suit all. */
function windowOf({ fixtures }) {
  const windows = fixtures.map(({ window }) => window).filter(isThere);
  if (!windows.length) return null;
  const low = Math.max(...windows.map(({ minimum }) => minimum.value));
  const high = Math.min(...windows.map(({ maximum }) => maximum.value));
  return low < high ? [low, high] : null;
}

function loadOf(values) {
  const power = quantity(values.watts, "W");
  if (values.lamp === "halogen") return { kind: "filament", power, rated_voltage: volts(Number(values.volts)) };
  const apparent = values.volt_amperes === null ? null : quantity(values.volt_amperes, "VA");
  return without({ kind: "constant-power", power, apparent_power: apparent, power_factor: values.power_factor });
}

/** Nobody answered, or answered that it cannot now; `seconds` is when to ask again, where it was said. */
export class Away extends Error {
  constructor(seconds = null) {
    super("away");
    this.seconds = seconds;
  }
}

export class Refused extends Error {
  constructor(problem) {
    super(problem.detail);
    this.problem = problem;
  }
}

/** Posts one question. A newer question aborts it through `signal`. */
export async function ask(address, key, question, signal) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  signal.addEventListener("abort", () => patience.abort());
  const headers = without({
    "Content-Type": "application/json",
    Accept: "application/json",
    Authorization: key && `Bearer ${key}`,
  });
  try {
    const reply = await fetch(address, {
      method: "POST",
      headers,
      body: JSON.stringify(question),
      signal: patience.signal,
      credentials: "omit",
      referrerPolicy: "no-referrer",
    });
    if ([429, 502, 503, 504].includes(reply.status)) throw new Away(Number(reply.headers.get("Retry-After")) || null);
    const said = await reply.json();
    if (!reply.ok) throw new Refused(said);
    return said;
  } catch (error) {
    if (error instanceof Refused || error instanceof Away || signal.aborted) throw error;
    throw new Away();
  } finally {
    clearTimeout(timer);
  }
}

/** Round steps of an axis, at most `most` of them. */
function steps(lowest, highest, most) {
  const rough = (highest - lowest || 1) / most;
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((factor) => factor * ten).find((size) => size >= rough);
  const first = Math.ceil(lowest / step - 1e-9);
  return Array.from({ length: Math.floor(highest / step + 1e-9) - first + 1 }, (_, index) => (first + index) * step);
}

/**
 * Volts along each run, from its own tap: the window shaded, what low and high mains make of it, a mark a fixture.
 *
 * `curves` are runs: `points` from the supply outwards, and a `name` where there are several.
 */
function picture(curves, window, width, numbers, rightToLeft) {
  const size = { width, height: Math.min(300, Math.max(200, width * 0.45)), start: 46, end: 16, top: 22, bottom: 34 };
  const points = curves.flatMap((curve) => curve.points);
  const heights = points.flatMap(({ volts: at, lowest = at, highest = at }) => [at, lowest, highest]);
  const [bottom, top] = [Math.min(...heights, ...(window ?? [])), Math.max(...heights, ...(window ?? []))];
  const margin = (top - bottom) * 0.08 || 1;
  const end = Math.max(...points.map(({ at }) => at)) || 1;
  const along = (at) => size.start + (at / end) * (size.width - size.start - size.end);
  const x = (at) => (rightToLeft ? size.width - along(at) : along(at));
  const y = (value) =>
    size.top + ((top + margin - value) / (top - bottom + 2 * margin)) * (size.height - size.top - size.bottom);
  const axes = drawnAxes({
    x,
    y,
    size,
    end,
    bounds: [bottom - margin, top + margin],
    numbers,
    rightToLeft,
    unit: points.at(-1).unit,
  });
  const [low, high] = window ?? [];
  const shade = window && draw("rect", {
    class: "window",
    x: Math.min(x(0), x(end)),
    width: Math.abs(x(end) - x(0)),
    y: y(high),
    height: y(low) - y(high),
  });
  const bounds = (window ?? []).map((value) =>
    draw("line", { class: "bound", x1: x(0), x2: x(end), y1: y(value), y2: y(value) }),
  );
  const place = { x, y, small: points.length > SHAPES_UP_TO };
  const attributes = { width: size.width, height: size.height, viewBox: `0 0 ${size.width} ${size.height}` };
  return draw("svg", { ...attributes, "aria-hidden": "true", part: "picture" },
    shade, ...bounds, ...axes, ...curves.flatMap((curve, number) => drawnCurve(curve, number, place)),
    ...named(curves, place, size, rightToLeft));
}

/** One run: between what its volts move, the volts as stated, and its fixtures; what differs by run is its dashes. */
function drawnCurve({ points }, number, { x, y, small }) {
  const path = (pairs) => pairs.map(([at, value]) => `${x(at).toFixed(1)},${y(value).toFixed(1)}`).join(" ");
  const spread = points.filter(({ lowest }) => lowest !== undefined);
  const corners = [...spread.map((p) => [p.at, p.highest]), ...spread.reverse().map((p) => [p.at, p.lowest])];
  const marks = points.filter(({ state }) => state);
  return [
    draw("polygon", { class: "between", points: path(corners) }),
    draw("polyline", { class: `profile dashes-${number % 4}`, points: path(points.map((p) => [p.at, p.volts])) }),
    ...marks.map((point) => mark(point, x(point.at), y(point.volts), small)),
  ];
}

/** The name of each of several runs at its last fixture, above or below it where another is already there. */
function named(curves, { x, y }, size, rightToLeft) {
  const taken = [];
  return curves.filter(({ name }) => name).map(({ name, points }) => {
    const { at, volts: value } = points.at(-1);
    const [left, wide] = [x(at), name.length * 7 + 8];
    const isFree = (base) => base > size.top && base < size.height - size.bottom - 3 &&
      !taken.some(([other, height, width]) => Math.abs(other - left) < Math.max(wide, width) && Math.abs(height - base) < 15);
    const base = [-10, 20, -25, 35, -40, 50].map((offset) => y(value) + offset).find(isFree) ?? y(value) - 10;
    taken.push([left, base, wide]);
    const near = rightToLeft ? left < wide : left > wide;
    return draw("text", { class: "name", x: left, y: base, "text-anchor": near === !rightToLeft ? "end" : "start" }, name);
  });
}

function drawnAxes({ x, y, size, end, bounds, numbers, rightToLeft, unit }) {
  const text = (content, attributes) => draw("text", attributes, content);
  const side = rightToLeft ? size.width - size.start + 8 : size.start - 8;
  const across = steps(...bounds, 6).flatMap((value) => [
    draw("line", { class: "grid", x1: x(0), x2: x(end), y1: y(value), y2: y(value) }),
    text(numbers.shown(value), { x: side, y: y(value) + 4, "text-anchor": rightToLeft ? "start" : "end" }),
  ]);
  const places = steps(0, end, size.width / 90);
  const anchors = rightToLeft ? ["end", "start"] : ["start", "end"];
  const anchor = (at) => (at < end * 0.05 ? anchors[0] : at > end * 0.92 ? anchors[1] : "middle");
  const along = places.flatMap((at) => [
    draw("line", {
      class: "tick",
      x1: x(at),
      x2: x(at),
      y1: size.height - size.bottom,
      y2: size.height - size.bottom + 5,
    }),
    text(at === places.at(-1) ? numbers.quantity(at, unit) : numbers.shown(at), {
      x: x(at), y: size.height - size.bottom + 20, "text-anchor": anchor(at),
    }),
  ]);
  const name = text("V", { x: side, y: 11, "text-anchor": rightToLeft ? "start" : "end" });
  return [...across, ...along, name];
}

/** A fixture: a dot inside its window, a triangle that points the way it lies outside. */
function mark({ state }, x, y, small) {
  const r = small ? 2 : 4;
  if (state === "inside") return draw("circle", { class: "mark inside", cx: x.toFixed(1), cy: y.toFixed(1), r });
  const [w, h] = ["below", "low"].includes(state) ? [r * 1.5, r * 1.7] : [r * 1.5, -r * 1.7];
  return draw("path", {
    class: `mark ${state}`,
    d: `M${(x - w).toFixed(1)} ${(y - h / 2).toFixed(1)}h${2 * w}l${-w} ${h * 1.3}z`,
  });
}

/** One input with its label, what is said beside it, and what is wrong with it. */
class Field {
  constructor(spec, end, words, choices, unit) {
    this.spec = spec;
    this.end = end;
    this.words = words;
    this.id = spec.name + end;
    const [hint, error] = [`${this.id}-hint`, `${this.id}-error`];
    this.label = make("label", { for: this.id });
    this.hint = make(
      "small",
      { id: hint, class: "hint" },
      // A choice is never empty, of which the hints for numbers speak.
      !choices && words.has(`hints/${spec.name}`) ? words.get(`hints/${spec.name}`) : "",
    );
    this.error = make("small", { id: error, class: "error", hidden: true });
    const named = {
      id: this.id,
      part: "control",
      "aria-describedby": `${hint} ${error}`,
      "aria-required": spec.required && "true",
    };
    this.control = choices
      ? make("select", named, ...choices.map(([value, text]) => make("option", { value }, text)))
      : make("input", { ...named, type: "text", inputmode: "decimal", autocomplete: "off", maxlength: "32" });
    this.element = make("div", { class: "field", part: "field" }, this.label, this.control, this.hint, this.error);
    this.measuredIn(unit);
  }

  measuredIn(unit) {
    this.label.replaceChildren(
      this.words.get(`labels/${this.spec.name}`),
      ...(unit ? [" (", make("bdi", {}, unit), ")"] : []),
    );
  }

  get isNumber() {
    return this.control.tagName === "INPUT";
  }

  /** What is chosen or typed, read; of an input for numbers, a text is the reason why it cannot be read. */
  get value() {
    if (this.element.hidden) return null;
    if (this.isNumber) return this.words.numbers.read(this.control.value);
    return this.spec.unit ? Number(this.control.value) : this.control.value;
  }

  /** Takes what a machine writes: a number with a point, or the name of a choice. */
  set value(value) {
    const number = value === null || value === "" ? NaN : Number(value);
    if (this.isNumber) this.control.value = Number.isNaN(number) ? "" : this.words.numbers.shown(number, 6);
    else if ([...this.control.options].some((option) => option.value === String(value))) this.control.value = value;
  }

  complain(node) {
    this.error.replaceChildren(...(node ? [node] : []));
    this.error.hidden = !node;
    this.control.toggleAttribute("aria-invalid", Boolean(node));
    if (!node) return;
    this.control.setAttribute("aria-invalid", "true");
    const fold = this.element.closest("details");
    if (fold) fold.open = true;
  }
}

/**
 * The form: every input, what hangs on what, and what is picked of the page's stock.
 *
 * An input's id is its name and, of a further group of fixtures, the `end` of that group: `count`, `count_2`.
 */
class Inputs {
  #fields = new Map();
  #touched = new Set();
  #further = [];

  constructor({ words, stock, taps, units, most, edited }) {
    this.words = words;
    this.stock = stock;
    this.tapsNamed = taps;
    this.unitsAtFirst = units;
    this.most = most;
    this.edited = edited;
    this.groups = make("div", { class: "groups" });
    this.add = make("button", { type: "button", class: "add", part: "button add", hidden: !most, click: () => this.#more() },
      words.get("add"));
    const sets = ["supply", "cable", "fixtures"].map((group) => this.#group(group));
    this.legends = { cable: sets[1].querySelector("legend"), fixtures: sets[2].querySelector("legend") };
    const label = { role: "group", "aria-label": words.get("inputs") };
    this.element = make("div", { class: "form", part: "form", ...label }, ...sets, this.groups, this.add);
    this.#renewSupply();
  }

  #group(group) {
    const { words } = this;
    const specs = FIELDS.filter(
      (spec) => spec.group === group && (spec.name !== "transformer" || this.stock.transformers.length),
    );
    return this.#fieldset(specs, "", words.get(`groups/${group}`), words.has(`more/${group}`) && words.get(`more/${group}`));
  }

  #fieldset(specs, end, title, more, ...rest) {
    const made = (folded) =>
      specs.filter((spec) => Boolean(spec.more) === folded).map((spec) => this.#field(spec, end).element);
    const [shown, folded] = [made(false), made(true)].map((fields) => make("div", { class: "fields" }, ...fields));
    const fold = folded.children.length ? make("details", {}, make("summary", {}, more), folded) : null;
    return make("fieldset", { part: "fieldset" }, make("legend", { part: "legend" }, title), shown, fold, ...rest);
  }

  #field(spec, end) {
    const unit = spec.unit === "length" ? this.lengthUnit : spec.unit;
    const field = new Field(spec, end, this.words, this.#choices(spec), unit);
    this.#fields.set(field.id, field);
    if (spec.name === "units") field.value = this.unitsAtFirst;
    if (spec.name === "cable") field.value = USUAL_SIZE[this.units];
    field.control.addEventListener("input", () => this.#changed(field));
    field.control.addEventListener("blur", () => this.#left(field));
    return field;
  }

  /** One more group of fixtures, on a run of its own while there is one to begin. */
  #more() {
    const end = this.#begin(`_${Number(this.#further.at(-1)?.end.slice(1) ?? 1) + 1}`);
    const used = this.#runs().map(([run]) => run);
    const free = Array.from({ length: this.most }, (_, index) => index + 1).find((run) => !used.includes(run));
    this.#fields.get(`run${end}`).value = free ?? used.at(-1);
    const alike = ["count", "watts", "first", "spacing", "lamp"];
    for (const name of alike) this.#fields.get(name + end).value = this.#fields.get(name).value;
    this.#renewSupply();
    this.control(`count${end}`).focus();
    this.edited();
  }

  #begin(end) {
    const remove = make("button", { type: "button", class: "remove", part: "button remove", click: () => this.#remove(end) });
    const element = this.#fieldset(FURTHER, end, "", this.words.get("more/fixtures"), remove);
    this.#further.push({ end, element, remove });
    this.groups.append(element);
    return end;
  }

  #drop(end) {
    this.#further.find((group) => group.end === end).element.remove();
    this.#further = this.#further.filter((group) => group.end !== end);
    for (const { name } of FURTHER) this.#fields.delete(name + end);
  }

  #remove(end) {
    // A run keeps its cable and tap where another group is left on it.
    const [, heir] = this.#runs().map(([, ends]) => ends).find(([first]) => first === end) ?? [];
    for (const own of heir ? ["cable", "tap"] : []) {
      this.#fields.get(own + heir).value = this.#fields.get(own + end).control.value;
    }
    this.#drop(end);
    this.#renewSupply();
    this.add.focus();
    this.edited();
  }

  /** Which groups are on which run, by their ends, the runs in order; the first group is on the first run. */
  #runs() {
    const runs = new Map([[1, [""]]]);
    for (const { end } of this.#further) {
      const run = Number(this.#fields.get(`run${end}`).control.value);
      runs.set(run, [...(runs.get(run) ?? []), end]);
    }
    return [...runs].sort(([one], [other]) => one - other);
  }

  get #ends() {
    return ["", ...this.#further.map(({ end }) => end)];
  }

  /** What a group is called where there are several. */
  #letter(end) {
    return String.fromCharCode(65 + this.#ends.indexOf(end));
  }

  /** The runs as they are laid, with what stands in the inputs of each of their groups. */
  runs(values) {
    const runs = this.#runs();
    const [several, lettered] = [runs.length > 1, this.#further.length > 0];
    const own = (end) => FURTHER.map(({ name }) => [name, values[name + end] ?? null]);
    return runs.map(([number, ends]) => ({
      name: several ? this.#nameOf(number) : null,
      cable: this.cable(ends[0]),
      tap: several && this.taps && !this.direct ? volts(values[`tap${ends[0]}`]) : null,
      groups: ends.map((end) => ({ ...Object.fromEntries(own(end)), letter: lettered ? this.#letter(end) : null })),
    }));
  }

  #nameOf(run) {
    return this.words.get("run_number", { number: this.words.numbers.shown(run) });
  }

  #choices({ name, choices }) {
    const { words, stock, units } = this;
    const { numbers } = words;
    switch (choices) {
      case "runs":
        return Array.from({ length: this.most }, (_, index) => [String(index + 1), this.#nameOf(index + 1)]);
      case "taps":
        return this.taps && this.taps.map(({ value }) => [String(value), numbers.quantity(value, "V")]);
      case "transformers": {
        const named = stock.transformers.map(({ id, name, rating }) => [
          id,
          name ?? numbers.quantity(rating.value, rating.unit),
        ]);
        return [["", words.get("another_transformer")], ...named];
      }
      case "cables":
        if (!stock.cables.length) return SIZES[units].map((size) => [size, numbers.size(size)]);
        return stock.cables.map(({ id, name, conductor }) => [id, name ?? numbers.size(conductor)]);
      default:
    }
    if (name === "volts") return choices.map((value) => [value, numbers.quantity(Number(value), "V")]);
    return choices?.map((value) => [value, words.get(`choices/${value === "range" ? `range_${units}` : value}`)]);
  }

  get units() {
    return this.#fields.get("units")?.control.value ?? this.unitsAtFirst;
  }

  get lengthUnit() {
    return this.units === "us" ? "ft" : "m";
  }

  get transformer() {
    const id = this.#fields.get("transformer")?.control.value;
    return id ? this.stock.transformers.find((item) => item.id === id) : null;
  }

  cable(end = "") {
    const { value } = this.#fields.get(`cable${end}`).control;
    return this.stock.cables.find((item) => item.id === value) ?? { conductor: value };
  }

  /** The terminals to choose from: those of the picked transformer, or those that the page names. */
  get taps() {
    return this.transformer?.taps ?? (this.tapsNamed.length ? this.tapsNamed : null);
  }

  /** Whether the supply gives direct current, which has no taps. */
  get direct() {
    return !this.transformer && this.control("kind").value === "dc-supply";
  }

  /** The job that stands in the inputs. */
  job(values, maximumDrop) {
    return jobOf({ ...values, taps: this.taps }, this.runs(values), this.transformer, maximumDrop);
  }

  control(name) {
    return this.#fields.get(name)?.control ?? this.#fields.get("count").control;
  }

  /** Fills inputs from machine-written values by id, those that hang on others last. */
  fill(values) {
    const ends = [...new Set(Object.keys(values).map((id) => /^run(_\d+)$/.exec(id)?.[1]).filter(Boolean))];
    for (const end of ends) {
      if (!this.#fields.has(`run${end}`) && this.#further.length < MOST_GROUPS - 1) this.#begin(end);
    }
    for (const id of ["units", "transformer", ...this.#fields.keys()]) {
      const value = values[id];
      if (value === undefined || value === null || !this.#fields.has(id)) continue;
      this.#fields.get(id).value = value;
      if (id === "units") this.#renewLengths();
      if (["transformer", "kind", "lamp"].includes(id)) this.#renewSupply();
    }
    this.#renewSupply();
  }

  /** Puts other further groups in the place of those that there are. */
  regroup(values) {
    for (const { end } of this.#further) this.#drop(end);
    this.fill(values);
  }

  /** What stands in the inputs, as a machine writes it. */
  typed() {
    const written = ({ value, control, isNumber }) =>
      isNumber ? (typeof value === "number" ? value : "") : control.value;
    return Object.fromEntries([...this.#fields].map(([id, field]) => [id, written(field)]));
  }

  /** The values by id, and what is wrong with which. */
  read() {
    const [values, mistakes] = [Object.fromEntries(FIELDS.map(({ name }) => [name, null])), new Map()];
    for (const [id, field] of this.#fields) {
      const { value, spec: { name, required }, end } = field;
      values[id] = value;
      if (field.isNumber && typeof value === "string") mistakes.set(id, value);
      else if (required && value === null && !(name === "spacing" && values[`count${end}`] === 1)) mistakes.set(id, "missing");
    }
    for (const end of this.#ends) {
      const [lowest, highest] = ["lowest", "highest"].map((name) => name + end);
      if ((values[lowest] === null) !== (values[highest] === null)) {
        mistakes.set(values[lowest] === null ? lowest : highest, "both");
      }
    }
    return { values, mistakes };
  }

  /** Shows what is wrong, and what is missing where somebody has been already. */
  complain(mistakes, { all = false } = {}) {
    for (const [id, field] of this.#fields) {
      const reason = mistakes.get(id);
      const shown = reason && (reason !== "missing" || all || this.#touched.has(id));
      const least = this.words.numbers.shown(field.spec.least ?? 0);
      field.complain(shown ? document.createTextNode(this.words.get(`mistakes/${reason}`, { least })) : null);
    }
  }

  /** The id of the input that a pointer into the request is about; undefined where none is. */
  at(pointer) {
    const [whole, run, line] = ANY_LINE.exec(pointer) ?? ANY_RUN.exec(pointer) ?? [];
    const end = this.#runs()[run]?.[1][line ?? 0] ?? "";
    const generally = whole ? pointer.replace(whole, line ? LINE : RUN) : pointer;
    const found = FIELDS.filter(({ places }) => places?.some((place) => isWithin(generally, place)));
    return found.map(({ name, places }) => (places.some((place) => isWithin(place, RUN)) ? name + end : name))
      .find((id) => this.#fields.has(id));
  }

  /** Shows each complaint of the service at the input that it is about; returns those, and what belongs to none. */
  refuse(errors) {
    const [named, stray] = [[], []];
    for (const row of errors) {
      const id = this.at(row.pointer);
      if (!id) {
        stray.push(row);
        continue;
      }
      this.#fields.get(id).complain(this.words.coded("errors", row, { allowed: this.words.bounds(row.allowed) }));
      named.push(id);
    }
    return { named, stray };
  }

  disable(disabled) {
    for (const { control } of this.#fields.values()) control.disabled = disabled;
    this.add.disabled = disabled;
  }

  #changed({ spec: { name } }) {
    if (name === "units") {
      this.#convert();
      this.#renewLengths();
    }
    if (["transformer", "kind", "lamp", "run"].includes(name)) this.#renewSupply();
    this.edited();
  }

  #left(field) {
    this.#touched.add(field.id);
    if (field.spec.required && field.value === null) this.complain(this.read().mistakes);
  }

  #replace(id) {
    const before = this.#fields.get(id);
    const value = before.isNumber ? before.value : before.control.value;
    const after = this.#field(before.spec, before.end);
    after.value = typeof value === "string" && before.isNumber ? null : value;
    after.element.hidden = before.element.hidden;
    before.element.replaceWith(after.element);
  }

  /**
   * A transformer of the stock brings its terminals, rating and regulation along; direct current asks for less; and
   * a run has a cable and a tap where its first group is.
   */
  #renewSupply() {
    for (const end of this.#ends) this.#replace(`tap${end}`);
    const picked = Boolean(this.transformer);
    const { direct } = this;
    const hidden = { kind: picked, rating: picked, regulation: picked || direct, mains: direct };
    const first = new Set(this.#runs().map(([, ends]) => ends[0]));
    for (const end of this.#ends) {
      const inPhase = direct || this.control(`lamp${end}`).value === "halogen";
      hidden[`volt_amperes${end}`] = hidden[`power_factor${end}`] = inPhase;
      if (!end) continue;
      hidden[`cable${end}`] = !first.has(end);
      hidden[`tap${end}`] = !first.has(end) || !this.taps || direct;
    }
    for (const [id, is] of Object.entries(hidden)) this.#fields.get(id).element.hidden = is;
    this.#fields.get("rating").measuredIn(direct ? "W" : "VA");
    this.#name();
  }

  /** Groups are told apart by letters, and the first cable by its run, where there are several. */
  #name() {
    const { words } = this;
    const several = this.#further.length > 0;
    const title = (end) => words.get("group_letter", { letter: this.#letter(end) });
    this.legends.fixtures.textContent = several ? title("") : words.get("groups/fixtures");
    this.legends.cable.textContent = several ? `${words.get("groups/cable")}, ${this.#nameOf(1)}` : words.get("groups/cable");
    for (const { end, element, remove } of this.#further) {
      element.querySelector("legend").textContent = title(end);
      remove.textContent = words.get("remove", { letter: this.#letter(end) });
    }
    this.add.hidden = !this.most || this.#further.length >= MOST_GROUPS - 1;
  }

  #renewLengths() {
    for (const end of this.#ends) {
      for (const name of ["first", "spacing"]) this.#fields.get(name + end).measuredIn(this.lengthUnit);
      this.#replace(`cable${end}`);
    }
    this.#replace("mains");
  }

  /** The same lengths in the other unit. */
  #convert() {
    const factor = this.units === "us" ? FEET_IN_METRE : 1 / FEET_IN_METRE;
    for (const id of this.#ends.flatMap((end) => [`first${end}`, `spacing${end}`])) {
      const field = this.#fields.get(id);
      if (typeof field.value === "number") field.value = Math.round(field.value * factor * 100) / 100;
    }
  }
}

/** What is shown beside the form: verdict, findings, picture, table, what would work, and what to take care of. */
class Answer {
  #runs = [];
  #reply = null;
  #places = new Map();
  #timer = 0;

  constructor({ words, stock, level, find, choose }) {
    this.words = words;
    this.stock = stock;
    const button = (key, click) => make("button", { type: "button", part: `button ${key}`, click }, words.get(key));
    this.status = make("p", { class: "status", part: "status" });
    this.unanswered = make("div", { class: "away", part: "away", hidden: true });
    this.summary = make("p", { class: "summary", part: "summary" });
    this.range = make("p", { class: "range", part: "range" });
    this.findings = make("ul", { class: "findings", part: "findings" });
    this.figure = make("figure", { part: "figure" });
    this.table = make("div", { class: "table", part: "table", tabindex: "0", role: "region", "aria-label": words.get("table") });
    this.assumptions = make("details", { part: "assumptions" });
    this.shown = make("div", { hidden: true }, this.summary, this.range, this.findings, this.figure);
    this.rows = make("div", { hidden: true }, this.table, this.assumptions);
    this.choose = button("choose", choose);
    this.proposal = make("div", { class: "proposal", part: "proposal", hidden: true });
    this.said = make("p", { class: "said", role: "status", "aria-live": "polite", "aria-atomic": "true" });
    const heading = make(`h${level}`, { part: "heading" }, words.get("result"));
    const actions = make("div", { class: "actions" }, button("find", find), this.choose);
    const parts = [
      heading,
      this.status,
      this.unanswered,
      this.shown,
      actions,
      this.proposal,
      this.rows,
      this.#cautions(),
      this.said,
    ];
    this.element = make(
      "div",
      { class: "answer", part: "answer", role: "group", "aria-label": words.get("result") },
      ...parts,
    );
    this.resized = new ResizeObserver(() => this.#redraw());
    this.resized.observe(this.figure);
  }

  #cautions() {
    const lines = Object.keys(ENGLISH.cautions).map((code) => make("li", {}, this.words.coded("cautions", { code })));
    return make(
      "div",
      { class: "care", part: "cautions" },
      make("p", {}, sign("warning"), make("strong", {}, this.words.get("care"))),
      make("ul", {}, ...lines),
    );
  }

  /** Nothing is shown that does not belong to what stands in the inputs. */
  clear(...nodes) {
    this.shown.hidden = this.rows.hidden = true;
    this.wait(...nodes);
  }

  /** Says how things stand while what was answered last stays in view. */
  wait(...nodes) {
    this.unanswered.hidden = true;
    this.status.replaceChildren(...nodes.filter(Boolean).flatMap((node) => [node, " "]));
  }

  /** Says something aloud, once, when nothing has changed for a while; half a number is no news. */
  announce(text) {
    this.hush();
    this.#timer = setTimeout(() => (this.said.textContent = text), ANNOUNCED_MS);
  }

  hush() {
    clearTimeout(this.#timer);
  }

  away(text, again) {
    this.clear();
    const retry = make("button", { type: "button", part: "button retry", click: again }, this.words.get("retry"));
    this.unanswered.replaceChildren(make("p", {}, sign("warning"), make("span", {}, text)), retry);
    this.unanswered.hidden = false;
    this.announce(text);
  }

  /** Shows a request that was answered; returns how severe its verdict is. */
  show(request, reply) {
    const { words } = this;
    this.#reply = reply;
    this.#places = placesIn(request);
    this.#runs = reply.status === "solved" ? runsOf(request, reply) : [];
    const solved = this.#runs.length > 0;
    const severity = this.#severity(reply);
    const text = this.#verdict(reply, severity);
    const [, verdict, rest] = /^(.*?\.)( .*)?$/s.exec(text) ?? [null, text];
    this.summary.replaceChildren(sign(severity), make("span", {}, make("strong", {}, verdict), rest));
    const rows = this.#runs.flatMap((run) => run.rows);
    const range = solved && this.#range(rows);
    this.range.textContent = solved && (severity === "fault" || !this.#tells(reply)) ? words.get("range", range) : "";
    this.findings.replaceChildren(...this.#untold(gathered(reply.findings), reply).map((found) => this.#finding(found)));
    const assumed = reply.assumptions.map((row) => make("li", {}, words.coded("assumptions", row)));
    this.assumptions.replaceChildren(make("summary", {}, words.get("assumed")), make("ul", {}, ...assumed));
    this.figure.hidden = this.table.hidden = !solved;
    this.table.replaceChildren(...(solved ? [tableOf(this.#runs, words)] : []));
    this.wait();
    this.shown.hidden = this.rows.hidden = false;
    this.#redraw();
    this.announce(`${text} ${this.range.textContent}`.trim());
    return severity;
  }

  /** Findings that the sentence above them does not tell in the same words. */
  #untold(groups, reply) {
    const told = this.#tells(reply) ? reply.summary.text : "";
    return groups.filter((rows) => rows.length > 1 || !told.includes(rows[0].message));
  }

  #severity({ status, findings }) {
    const severities = findings.map(({ severity }) => severity);
    if (status !== "solved" || severities.includes("fault")) return "fault";
    return severities.includes("warning") ? "warning" : "good";
  }

  /** Whether the service's own sentence is shown, which says what the lamps get where they pass. */
  #tells({ summary }) {
    return this.words.language === "en" && Boolean(summary?.text);
  }

  /** The answer in a sentence or two: the service's own in English, else the verdict in this language. */
  #verdict(reply, severity) {
    const { words } = this;
    if (this.#tells(reply)) return forVisitors(reply.summary.text);
    return words.get(reply.status === "solved" ? `verdicts/${severity}` : "cannot_carry");
  }

  #range(rows) {
    const least = rows.reduce((one, other) => (other.lowest < one.lowest ? other : one));
    const most = rows.reduce((one, other) => (other.highest > one.highest ? other : one));
    return between(this.words.numbers, { ...least, highest: most.highest }, most.limit);
  }

  #finding(rows) {
    const [{ severity }] = rows;
    const name = this.words.has(`severities/${severity}`) ? this.words.get(`severities/${severity}`) : severity;
    return make(
      "li",
      { class: severity },
      sign(severity),
      make("span", {}, make("strong", {}, `${name}: `), this.words.finding(rows, this.#places)),
    );
  }

  /** The picture is drawn for the width that there is, so that its writing keeps its size. */
  #redraw() {
    const width = this.figure.clientWidth;
    if (!this.#runs.length || !width) return;
    const { words } = this;
    const { envelope } = this.#reply;
    const window = windowOf(this.#reply);
    const rightToLeft = RIGHT_TO_LEFT.includes(words.language);
    const [low, high] = (window ?? []).map((value) => words.numbers.quantity(value, "V"));
    const said = [words.get("caption"), envelope && !envelope.collapsed.length && words.get("caption_band"),
      window && words.get("caption_shade", { low, high })];
    const curves = this.#runs.map(({ name, start, rows }) => ({ name, points: [start, ...rows] }));
    this.figure.replaceChildren(
      make("figcaption", {}, said.filter(Boolean).join(" ")),
      picture(curves, window, width, words.numbers, rightToLeft),
    );
  }

  /** Shows what would work, or what was tried where nothing does; null takes it away. */
  propose(proposal, use) {
    this.proposal.hidden = !proposal;
    this.proposal.replaceChildren();
    if (!proposal) return;
    const works = proposal.gauge.status === "recommended";
    const ended = proposal.gauge.status === "none-found" ? "none_found" : "none_works";
    const title = make("p", {}, make("strong", {}, this.words.get(works ? "proposed" : ended)));
    this.proposal.append(
      title,
      ...(this.#tells(proposal.gauge) ? [make("p", {}, forVisitors(proposal.gauge.summary.text))] : []),
      make("ul", {}, ...(works ? this.#recommended(proposal) : this.#remedies(proposal.gauge))),
    );
    if (works)
      this.proposal.append(make("button", { type: "button", part: "button use", click: use }, this.words.get("use")));
    this.wait();
    this.announce(this.proposal.querySelector("ul").textContent);
  }

  #recommended({ gauge, loading, transformer, carries }) {
    const { numbers } = this.words;
    const lines = [];
    const say = (key, values) => lines.push(make("li", {}, this.words.get(`proposal/${key}`, values)));
    const named = ({ stock_id: own, conductor }) =>
      this.stock.cables.find(({ id }) => id === own)?.name ?? numbers.size(conductor);
    const several = gauge.wiring.runs.length > 1;
    const nameOf = (pointer) => gauge.wiring.runs[ANY_RUN.exec(pointer)?.[1]]?.name;
    for (const line of gauge.purchase) {
      const { value, unit } = line.quantity;
      say("cable", { cable: named(line), length: numbers.quantity(value, unit, 1) });
    }
    if (several) {
      const taps = new Map((gauge.taps ?? []).map(({ pointer, tap }) => [nameOf(pointer), numbers.quantity(tap.value, "V")]));
      for (const chosen of gauge.chosen) {
        const run = nameOf(chosen.pointer);
        say("on_run", { run, part: [named(chosen), taps.get(run)].filter(Boolean).join(" · ") });
      }
    } else if (gauge.taps?.length) say("tap", { tap: numbers.quantity(gauge.taps[0].tap.value, "V") });
    if (gauge.total) say("price", { price: this.#price(gauge.total, gauge.currency) });
    if (carries) say("carries", { share: numbers.quantity(100 * loading.loading.loading_ratio, "percent", 0) });
    if (transformer) {
      const rating = numbers.quantity(transformer.rating.value, transformer.rating.unit);
      const price = transformer.price && this.#price(transformer.price, transformer.currency ?? gauge.currency);
      const more = [transformer.name && rating, price].filter(Boolean).join(", ");
      const named = transformer.name ?? rating;
      say("transformer", { transformer: more ? `${named} (${more})` : named });
    } else if (loading && !carries) {
      lines.push(
        ...gathered(loading.findings.filter(speaksAgainst(loading))).map((rows) => this.#finding(rows)),
      );
    }
    const { lowest_voltage: lowest, highest_voltage: highest } = gauge.outcome;
    if (lowest && highest && !this.#tells(gauge)) say("range", this.#range([{ lowest: lowest.value, highest: highest.value }]));
    const warned = this.#untold(gathered(gauge.findings.filter(({ severity }) => severity !== "note")), gauge);
    return lines.concat(warned.map((rows) => this.#finding(rows)));
  }

  #price(amount, currency) {
    const style = currency ? { style: "currency", currency } : {};
    return new Intl.NumberFormat(this.words.numbers.locale, style).format(Number(amount));
  }

  #remedies({ remedies }) {
    return remedies.map((row) => {
      const helps = row.outcome.passes;
      const changes = row.changes?.length ? row.changes : [row];
      const text = make(
        "span",
        {},
        ...changes.flatMap((change) => [this.#remedy(change), " "]),
        `(${this.words.get(helps ? "helps" : "not_enough")})`,
      );
      return make("li", {}, sign(helps ? "good" : "fault"), text);
    });
  }

  /** One thing to change; in English as the service says it. */
  #remedy(change) {
    const where = this.#places.get(ANY_RUN.exec(change.subject.pointer)?.[0]) ?? this.words.get("the_run");
    return this.words.coded("remedies", change, { parameter: this.words.numbers.size(change.parameter ?? ""), where });
  }
}

/**
 * Each run with its cable, the volts at its tap, and a row for each fixture from the supply outwards: its volts,
 * between what they move, and the worst that is said of it.
 */
function runsOf({ supply, wiring }, reply) {
  const states = {
    "fixture-below-window": { fault: "below", warning: "low" },
    "fixture-above-window": { fault: "above", warning: "high" },
  };
  const keyOf = ({ pointer, number = 1 }) => `${ANY_LINE.exec(pointer)?.[0]} ${number}`;
  const said = new Map();
  for (const { subject, code, severity, limit } of reply.findings) {
    const state = states[code]?.[severity];
    if (state && (severity === "fault" || !said.has(keyOf(subject)))) said.set(keyOf(subject), { state, limit: limit?.value });
  }
  const extremes = new Map(reply.envelope?.fixtures.map((row) => [keyOf(row), row]));
  const rowOf = (fixture) => {
    const { pointer, number = 1, at, voltage, verdict } = fixture;
    const [, run, line] = ANY_LINE.exec(pointer);
    const { lowest, highest } = extremes.get(keyOf(fixture)) ?? {};
    const letter = wiring.runs[run].fixtures[line].name;
    const judged = said.get(keyOf(fixture)) ?? { state: verdict };
    return { run: Number(run), letter, number, at: at.value, unit: at.unit, ...judged, ...spread(voltage, lowest, highest) };
  };
  const rows = reply.fixtures.map(rowOf).sort((one, other) => one.at - other.at);
  return wiring.runs.map(({ name, cable, tap }, place) => {
    const start = { at: 0, ...startOf(reply, tap ?? supply.secondary ?? supply.output) };
    return { name, cable, tap, start, rows: rows.filter(({ run }) => run === place) };
  });
}

/** Volts at a tap; between what they move where the supply has no other. */
function startOf({ supply, envelope }, { value }) {
  const extremes = envelope?.supply;
  if (!(supply.taps?.length > 1)) return spread(supply.terminal, extremes?.lowest_terminal, extremes?.highest_terminal);
  return { volts: (supply.taps.find(({ rated }) => rated.value === value) ?? supply).terminal.value };
}

/** Volts as stated, and the extremes; those say nothing of a corner in which the run collapses. */
function spread({ value }, lowest, highest) {
  const [low, high] = [lowest?.voltage.value ?? value, highest?.voltage.value ?? value];
  return { volts: value, lowest: Math.min(value, low), highest: Math.max(value, high) };
}

const SEVERITY_OF_STATE = { inside: "good", low: "warning", high: "warning", below: "fault", above: "fault" };

/** Between which volts a lamp moves, rounded as the sentences of the service have it. */
function between(numbers, { lowest, highest, limit }, upper = limit) {
  return { lowest: numbers.judged(lowest, limit ?? lowest), highest: numbers.judged(highest, upper ?? highest) };
}

function tableOf(runs, words) {
  const { numbers } = words;
  const head = (key) => make("th", { scope: "col" }, words.get(`columns/${key}`));
  const range = (row) => make("small", {}, words.get("between", between(numbers, row)));
  const stated = (state) => (words.has(`states/${state}`) ? words.get(`states/${state}`) : state);
  const line = (row) => make("tr", {},
    make("th", { scope: "row" }, [row.letter, numbers.shown(row.number)].filter(isThere).join("\u00a0")),
    make("td", {}, numbers.quantity(row.at, row.unit, 1)),
    make("td", {}, numbers.judged(row.volts, row.limit ?? row.volts), row.lowest === row.highest ? null : range(row)),
    make("td", {}, sign(SEVERITY_OF_STATE[row.state] ?? "note"), make("span", {}, stated(row.state))));
  const title = ({ name, cable, tap }) => {
    const parts = [name, numbers.size(cable.conductor), tap && numbers.quantity(tap.value, "V")];
    return make("tr", { class: "run" }, make("th", { colspan: "4", scope: "rowgroup" }, parts.filter(Boolean).join(" · ")));
  };
  const columns = make("thead", {}, make("tr", {}, ...["number", "at", "volts", "state"].map(head)));
  const bodies = runs.map((run) => make("tbody", {}, run.name ? title(run) : null, ...run.rows.map(line)));
  return make("table", {}, columns, ...bodies);
}

/** The element. It asks; `Inputs` and `Answer` show. */
export class LastLamp extends HTMLElement {
  static formAssociated = true;
  static version = VERSION;
  static observedAttributes = [...FIELDS.map(({ name }) => attributeOf(name)), ...SETTINGS];

  #internals = this.attachInternals();
  #stock = { cables: [], transformers: [] };
  #given = [];
  #groups = [];
  #regrouped = false;
  #inputs = null;
  #answer = null;
  #settled = null;
  #severity = null;
  #proposal = null;
  #bought = null;
  #kept = null;
  /** Attributes that changed while it was being laid out anew: what was typed before does not outlive them. */
  #late = {};
  #laid = 0;
  #asking = new AbortController();
  #timer = 0;
  #building = 0;

  constructor() {
    super();
    this.attachShadow({ mode: "open", delegatesFocus: true }).adoptedStyleSheets = [SHEET];
  }

  connectedCallback() {
    // A page may have set the property before this script was there to see it.
    for (const name of ["stock", "groups", "name"].filter((own) => Object.hasOwn(this, own))) {
      const value = this[name];
      delete this[name];
      this[name] = value;
    }
    this.#build();
  }

  disconnectedCallback() {
    this.#kept = this.#inputs?.typed() ?? this.#kept;
    this.#inputs = null;
    this.#building += 1;
    this.#stop();
  }

  attributeChangedCallback(name, before, now) {
    if (this.#building !== this.#laid) this.#late[name.replaceAll("-", "_")] = now;
    if (!this.#inputs || before === now) return;
    if (name === "scheme") this.shadowRoot.lastElementChild.dataset.scheme = now ?? "";
    else if (["lang", "taps", "level", "runs"].includes(name)) this.#build();
    else {
      this.#inputs.fill({ [name.replaceAll("-", "_")]: now });
      this.#changed();
    }
  }

  /** The page's own cables (with `conductor`) and transformers (with `rating`), each as the service takes a stock. */
  get stock() {
    return structuredClone(this.#given);
  }

  set stock(stock) {
    const given = listed(stock, "stock");
    // A framework may hand over the same list anew whenever it draws its page.
    if (JSON.stringify(given) === JSON.stringify(this.#given)) return;
    this.#given = given;
    const having = (member) => this.#given.filter((item) => item && Object.hasOwn(item, member));
    this.#stock = { cables: having("conductor"), transformers: having("rating") };
    if (this.#inputs) this.#build();
  }

  /** Groups of fixtures beside the first: each the number of its `run`, and its inputs by the names of attributes. */
  get groups() {
    return structuredClone(this.#groups);
  }

  set groups(groups) {
    const given = listed(groups, "groups").filter((group) => group && typeof group === "object");
    if (JSON.stringify(given) === JSON.stringify(this.#groups)) return;
    this.#groups = given;
    if (!this.#inputs) return;
    if (this.#most() > this.#inputs.most) {
      this.#regrouped = true;
      this.#build();
      return;
    }
    this.#inputs.regroup(this.#grouped());
    this.#changed();
  }

  #grouped() {
    const rows = this.#groups.flatMap((group, index) => Object.entries({ run: 1, ...group })
      .map(([name, value]) => [`${name.replaceAll("-", "_")}_${index + 2}`, value]));
    return Object.fromEntries(rows);
  }

  /** The request that was answered and its reply; null while the inputs ask for another. */
  get answer() {
    return structuredClone(this.#settled);
  }

  get form() {
    return this.#internals.form;
  }

  get name() {
    return this.getAttribute("name");
  }

  set name(name) {
    this.setAttribute("name", name ?? "");
  }

  get type() {
    return this.localName;
  }

  get validity() {
    return this.#internals.validity;
  }

  get validationMessage() {
    return this.#internals.validationMessage;
  }

  get willValidate() {
    return this.#internals.willValidate;
  }

  checkValidity() {
    return this.#internals.checkValidity();
  }

  reportValidity() {
    return this.#internals.reportValidity();
  }

  formResetCallback() {
    this.#kept = null;
    if (this.#inputs) this.#build({ afresh: true });
  }

  formDisabledCallback(disabled) {
    this.#inputs?.disable(disabled);
    for (const button of this.shadowRoot.querySelectorAll("button")) button.disabled = disabled;
  }

  /** A browser that goes back to a page fills its forms in again; this is how it asks. */
  formStateRestoreCallback(state) {
    this.#kept = JSON.parse(state);
    this.#inputs?.fill(this.#kept);
    if (this.#inputs) this.#changed(0);
  }

  /** Lays everything out anew in the language of the page, where there are words for it; what was typed stays. */
  async #build({ afresh = false } = {}) {
    this.#building += 1;
    const turn = this.#building;
    const words = await spoken(this.lang || this.closest("[lang]")?.lang || "en");
    await dressed();
    if (turn !== this.#building || !this.isConnected) return;
    const kept = afresh ? {} : (this.#inputs?.typed() ?? this.#kept ?? {});
    const focused = this.shadowRoot.activeElement?.id;
    this.#layOut(words);
    const given = FIELDS.map(({ name }) => [name, this.getAttribute(attributeOf(name))]);
    this.#inputs.fill(Object.fromEntries(given));
    this.#inputs.fill(this.#beginning());
    this.#inputs.fill(Object.keys(kept).length ? kept : this.#grouped());
    if (this.#regrouped) this.#inputs.regroup(this.#grouped());
    this.#regrouped = false;
    this.#inputs.fill(this.#late);
    [this.#late, this.#laid] = [{}, turn];
    if (focused) this.#inputs.control(focused).focus();
    if (this.matches(":disabled")) this.formDisabledCallback(true);
    this.#changed(0);
  }

  /** How many runs there may be; 0 where the page asks for no more than one group. */
  #most() {
    const asked = [this.getAttribute("runs"), ...this.#groups.map(({ run }) => run ?? 1)];
    return Math.min(MOST_GROUPS, Math.max(0, ...asked.map((number) => Math.trunc(Number(number)) || 0)));
  }

  /** What the page leaves open of the fixtures; nothing in a form, which must not send what nobody typed. */
  #beginning() {
    if (this.form) return {};
    const usual = Object.entries(BEGINNING[this.#inputs.units]);
    return Object.fromEntries(usual.filter(([name]) => !this.hasAttribute(name)));
  }

  #layOut(words) {
    const named = this.getAttribute("taps")?.split(/[\s;]+/).map(Number).filter((value) => value > 0) ?? [];
    const american = ["en", "en-US", "es-US"].includes(words.numbers.locale);
    const shared = { words, stock: this.#stock };
    this.#answer?.resized.disconnect();
    this.#inputs = new Inputs({
      ...shared,
      taps: named.map(volts),
      units: american ? "us" : "metric",
      most: this.#most(),
      edited: () => {
        this.#bought = null;
        this.#changed();
      },
    });
    const level = /^[1-6]$/.test(this.getAttribute("level")) ? this.getAttribute("level") : "2";
    this.#answer = new Answer({ ...shared, level, find: () => this.#find(), choose: () => this.#choose() });
    const dir = RIGHT_TO_LEFT.includes(words.language) ? "rtl" : "ltr";
    const sides = make("div", { class: "sides" }, this.#inputs.element, this.#answer.element);
    const scheme = this.getAttribute("scheme") ?? "";
    this.shadowRoot.replaceChildren(
      draw("svg", { class: "width", width: 0, height: 0, "aria-hidden": "true" }),
      make("div", { class: "root", part: "root", lang: words.language, dir, "data-scheme": scheme }, sides),
    );
  }

  #ask(study, question, signal) {
    const origin = this.getAttribute("service") || new URL(import.meta.url).origin;
    return ask(`${origin.replace(/\/$/, "")}/v1/${study}`, this.getAttribute("browser-key") ?? this.getAttribute("key"), question, signal);
  }

  #say(key, values) {
    return this.#answer.words.get(key, values);
  }

  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(`last-lamp-${name}`, { detail, bubbles: true, composed: true }));
  }

  #invalid(message, name) {
    this.#internals.setValidity({ customError: true }, message, this.#inputs.control(name));
  }

  #stop() {
    clearTimeout(this.#timer);
    this.#answer?.hush();
    this.#asking.abort();
    this.#asking = new AbortController();
  }

  /** Something changed: what was answered no longer belongs to what is asked. */
  #changed(wait = SETTLED_MS) {
    this.#stop();
    this.#settled = null;
    this.#propose(null);
    this.#internals.setFormValue(null, JSON.stringify(this.#inputs.typed()));
    this.#invalid(this.#say("computing"));
    this.#timer = setTimeout(() => this.#calculate(), wait);
  }

  /** The job in the inputs, and its window; null, and why, where they do not make one. */
  #asked(all) {
    const { values, mistakes } = this.#inputs.read();
    this.#inputs.complain(mistakes, { all });
    if (!mistakes.size) return { values, job: this.#inputs.job(values, Number(this.getAttribute("maximum-drop"))) };
    const [[name, reason]] = mistakes;
    const untouched = !all && [...mistakes.values()].every((one) => one === "missing");
    this.#answer.clear(this.#say(untouched ? "fill_in" : "correct"));
    this.#invalid(this.#say(`mistakes/${reason}`), name);
    if (all) this.#inputs.control(name).focus();
    return null;
  }

  async #calculate() {
    const asked = this.#asked(false);
    if (!asked) return;
    const { signal } = this.#asking;
    this.#answer.wait(this.#say("computing"));
    try {
      const reply = await this.#ask("voltage-drop", asked.job, signal);
      this.#settled = { request: asked.job, reply };
      this.#internals.setFormValue(JSON.stringify(this.#settled), JSON.stringify(this.#inputs.typed()));
      this.#internals.setValidity({});
      this.#severity = this.#answer.show(asked.job, reply);
      this.#tell("answer", this.answer);
    } catch (error) {
      this.#failed(error, signal, () => this.#calculate());
    }
  }

  #failed(error, signal, again) {
    if (signal.aborted) return;
    if (error instanceof Refused) this.#refused(error.problem);
    else if (error instanceof Away) this.#away(error.seconds, again);
    else throw error;
  }

  #refused(problem) {
    const { named, stray } = this.#inputs.refuse(problem.errors ?? []);
    const rest = stray.length || named.length ? stray : [problem];
    const texts = rest.map((row) => this.#answer.words.coded("problems", row));
    this.#answer.clear(this.#say(named.length ? "correct" : "refused"), ...texts);
    this.#invalid(this.#answer.status.textContent, named[0]);
    this.#answer.announce(this.#answer.status.textContent);
    this.#tell("problem", { kind: "refused", problem });
  }

  #away(seconds, again) {
    const text = this.#say(seconds ? "away_until" : "away", {
      seconds: seconds && this.#answer.words.numbers.shown(seconds),
    });
    this.#answer.away(text, again);
    this.#invalid(text);
    this.#tell("problem", { kind: "away", retryAfterSeconds: seconds });
  }

  #propose(proposal) {
    this.#proposal = proposal;
    this.#answer.propose(proposal, () => this.#use());
  }

  /** Looks for what would work: a cable and a terminal first, then a transformer that carries them. */
  async #find() {
    const asked = this.#asked(true);
    if (!asked) return;
    const { signal } = this.#asking;
    this.#answer.wait(this.#say("searching"));
    try {
      this.#propose(await this.#sought(asked, signal));
    } catch (error) {
      this.#failed(error, signal, () => this.#find());
    }
  }

  /** What is proposed: for the supply as it stands, or else for a transformer of the stock that has more to give. */
  async #sought({ job, values }, signal) {
    const currency = this.getAttribute("currency") ?? undefined;
    const stock = (items) => (items.length ? { stock: items, currency } : {});
    const family = this.#inputs.units === "us" ? "awg" : "metric";
    const cables = (supply) => {
      const scope = job.wiring.runs.length > 1 ? "per-run" : "one";
      const taps = supply.taps ? "choose" : "keep";
      const question = { ...job, supply, ...stock(this.#stock.cables), family, scope, taps };
      return this.#ask("gauge-recommendation", question, signal);
    };
    const gauge = await cables(job.supply);
    if (job.supply.kind !== "transformer") return { gauge };
    if (gauge.status !== "recommended") {
      for (const transformer of carriers(this.#stock.transformers, job)) {
        const other = await cables(supplyOf(values, transformer));
        if (other.status === "recommended") return { gauge: other, transformer };
      }
      return { gauge };
    }
    const loading = await this.#ask(
      "transformer-loading",
      { ...job, wiring: gauge.wiring, ...stock(this.#stock.transformers) },
      signal,
    );
    const carries =
      loading.status === "solved" &&
      job.supply.winding &&
      !loading.findings.some(({ severity }) => severity === "fault");
    const transformer = carries ? null : loading.recommended;
    const own = transformer?.id && this.#stock.transformers.find(({ id }) => id === transformer.id);
    // Another transformer sags by another amount, so the cable is sought again behind it.
    return { gauge: own ? await cables(supplyOf(values, own)) : gauge, loading, transformer, carries };
  }

  /** Puts what was proposed into the inputs, where it is computed like anything else. */
  #use() {
    const { gauge, transformer } = this.#proposal;
    const rating = transformer && transformer.rating.value * (transformer.rating.unit === "kVA" ? 1000 : 1);
    const of = transformer?.id ? { transformer: transformer.id } : { rating };
    const cables = gauge.chosen.map((row) => [this.#inputs.at(row.pointer), row.stock_id ?? row.conductor]);
    const taps = (gauge.taps ?? []).map(({ pointer, tap }) => [this.#inputs.at(`${pointer}/tap`), tap.value]);
    this.#inputs.fill({ ...of, ...Object.fromEntries([...cables, ...taps]) });
    this.#bought = gauge.purchase;
    this.#changed(0);
    this.#answer.choose.focus();
  }

  /** Tells the page what is chosen, by the page's own ids. */
  #choose() {
    if (!this.#settled) {
      this.#asked(true);
      return;
    }
    const { request, reply } = this.#settled;
    const { transformer } = this.#inputs;
    const laid = this.#inputs.runs(this.#inputs.read().values);
    const cables = request.wiring.runs.map((run, place) => {
      const { id, conductor } = laid[place].cable;
      return without({ run: run.name, id, conductor, length: lengthOf(run), tap: run.tap });
    });
    const [{ id, conductor, length }] = cables;
    const rating = request.supply.winding?.rating ?? request.supply.rating;
    this.#tell("choice", structuredClone({
      cable: without({ id, conductor, length, purchase: this.#bought }),
      cables,
      transformer: without({ id: transformer?.id, rating }),
      terminal: request.supply.secondary ?? request.supply.output,
      verdict: this.#severity,
      request,
      reply,
    }));
    this.#answer.wait(this.#say("chosen"));
    this.#answer.announce(this.#say("chosen"));
  }
}

const loaded = new Map();

/** Words and numbers for a language tag: its own where there are any, else English words with its numbers. */
async function spoken(tag) {
  let locale = "en";
  try {
    [locale] = Intl.getCanonicalLocales(tag);
  } catch {
    // Not a language tag: a page may say anything.
  }
  const language = locale.split("-")[0];
  const name = `words.${language}.json`;
  if (COMPANIONS[name] && !loaded.has(language)) {
    const texts = fetched(name).then((reply) => reply.json());
    loaded.set(language, texts.catch(() => (loaded.delete(language), null)));
  }
  const texts = await inTime(loaded.get(language));
  const numbers = new Numbers(locale, Boolean(texts) && RIGHT_TO_LEFT.includes(language));
  return new Words(texts ? language : "en", texts ?? ENGLISH, numbers);
}

/**
 * English. Keys are the contract's codes where there are such, and `{name}` stands for a part that is filled in. What
 * the service says in English itself is not said again, but for what many fixtures share.
 */
export const ENGLISH = {
  inputs: "The run", result: "What each fixture gets", table: "Volts at each fixture",
  computing: "Calculating…", searching: "Looking for what works…",
  fill_in: "Enter the fixtures to see their volts.",
  correct: "Check the marked fields.",
  refused: "The calculation was refused.",
  away: "The calculation service does not answer. What you typed is kept.",
  away_until: "The calculation service is busy; it asks for {seconds} seconds. What you typed is kept.",
  retry: "Try again", find: "Find what works", use: "Use this", choose: "Choose this cable and transformer",
  add: "Add fixtures", remove: "Remove {letter}", chosen: "Chosen.",
  verdicts: { good: "Passes.", warning: "Passes with warnings.", fault: "Does not pass." },
  range: "Fixtures get {lowest} to {highest}.",
  cannot_carry: "This cable cannot carry this load at all.",
  proposed: "This would work:", none_works: "No cable on the list is enough. What else was tried:",
  none_found: "The search ended before a cable was found that works; there may be one. What else was tried:", helps: "works",
  not_enough: "not enough by itself",
  assumed: "Assumptions", care: "Before you dig",
  caption: "Volts along the cable.", caption_band: "Band: from the lowest to the highest mains.",
  caption_shade: "Shaded: the fixtures' working range, {low} to {high}.",
  between: "({lowest} to {highest})",
  another_transformer: "Another, not on this list", the_supply: "The supply", the_run: "The run", run_number: "Run {number}",
  the_fixture: "The fixture", fixture_number: "Fixture {number}", fixture_numbers: "Fixtures {number}", group_letter: "Fixtures {letter}",
  groups: { supply: "Supply", cable: "Cable", fixtures: "Fixtures" },
  more: { supply: "More about the supply", fixtures: "More about the fixtures" },
  labels: {
    transformer: "Transformer", kind: "Kind", volts: "Fixtures made for", tap: "Tap", rating: "Rating",
    regulation: "Regulation",
    measured: "Measured with nothing connected", mains: "Mains", run: "On run", cable: "Cable size", units: "Lengths in", count: "How many",
    watts: "Power of each",
    first: "Supply to first fixture", spacing: "Spacing", lamp: "Lamp",
    volt_amperes: "Volt-amperes of each", power_factor: "Power factor",
    lowest: "Lowest input voltage", highest: "Highest input voltage",
  },
  hints: {
    tap: "Empty: the volts of the fixtures", rating: "On its plate", watts: "The real watts, not the “equivalent” on the box",
    first: "Along the cable, one way",
    regulation: "Rise from full load to no load. Empty: the voltage does not sag",
    measured: "With a meter at the terminal", volt_amperes: "On the label. Empty: same as the watts",
    power_factor: "0 to 1, if the label gives no volt-amperes",
  },
  choices: {
    transformer: "Transformer, AC", "dc-supply": "DC supply", range_us: "110 to 126 V of 120 V",
    range_metric: "90 to 110 %", rated: "Rated voltage only",
    us: "Feet", metric: "Metres", led: "LED", halogen: "Halogen",
  },
  mistakes: {
    missing: "Enter a value.", not_a_number: "Enter a number.", negative: "Enter {least} or more.",
    ambiguous: "This may mean two numbers. Enter it without thousands separators.",
    grouped: "Enter the number without spaces or thousands separators.",
    both: "Enter both, the lowest and the highest.",
  },
  bounds: {
    low: "{low} or more", high: "{high} or less", high_low: "{low} to {high}", above: "more than {above}",
    above_high: "more than {above}, {high} or less", below: "less than {below}", below_low: "{low} or more, less than {below}",
  },
  columns: { number: "Fixture", at: "Distance", volts: "Volts", state: "Verdict" },
  states: { inside: "inside", below: "too low", low: "low", high: "high", above: "too high" },
  severities: { fault: "Fault", warning: "Warning", note: "Note" },
  corners: {
    "lowest mains": "lowest mains", "highest mains": "highest mains",
    "with little else on": "with little else on",
    "hot cable": "hot cable", "cold cable": "cold cable",
  },
  proposal: {
    cable: "Cable: {cable}, {length}", tap: "Tap: {tap}", on_run: "{run}: {part}", transformer: "Transformer: {transformer}",
    price: "Cable costs {price}",
    carries: "Your transformer carries it, loaded to {share} of its rating", range: "Fixtures get {lowest} to {highest}",
  },
  errors: { "out-of-range": "Enter {allowed}.", "not-a-multiple": "Enter a whole number." },
  problems: {
    "key-missing": "This page needs a key for the calculation service. Please tell whoever runs the page.",
    "key-unknown": "The key of this page is not good at the calculation service. Please tell whoever runs the page.",
    "origin-not-allowed": "This page may not ask the calculation service. Please tell whoever runs the page.",
  },
  findings: {
    "fixture-below-window": "{where}: {measured}, below {limit}. Use thicker cable, a higher tap, or a split run.",
    "fixture-above-window": "{where}: {measured}, above {limit}. Use a lower tap.",
    "drop-over-limit": "{where}: the cable takes {measured} of the voltage; the limit here is {limit}.",
  },
  cautions: {
    "isolate-first": "Switch the supply off and isolate it before cutting or opening any cable.",
    "tight-joints": "Loose terminals and splices heat, arc and burn; use connectors made for wet ground.",
    "local-code": "This is a calculation, not an approval: local code and a licensed electrician decide.",
    "meter-under-load": "A meter reading at the last lamp, with everything on, has the last word.",
  },
};

/** One style sheet for every calculator of a page: adopted, because pages with a strict policy take no other. */
const SHEET = new CSSStyleSheet();
let styled = null;

/** Without its style sheet the calculator is plain, but it works. */
function dressed() {
  styled ??= fetched("calculator.css")
    .then((reply) => reply.text())
    .then((text) => SHEET.replaceSync(text))
    .catch(() => (styled = null));
  return inTime(styled);
}

/** What comes in time, or nothing: better plain and in English than not at all. */
function inTime(promise) {
  return Promise.race([promise, new Promise((later) => setTimeout(later, COMPANIONS_MS))]);
}

/** A file of this very version; the hash says that it is the one that this file was written with. */
function fetched(name) {
  const address = new URL(`../${VERSION}/${name}`, import.meta.url);
  return fetch(address, { integrity: COMPANIONS[name], credentials: "omit", referrerPolicy: "no-referrer" });
}

if (!customElements.get("last-lamp")) customElements.define("last-lamp", LastLamp);
