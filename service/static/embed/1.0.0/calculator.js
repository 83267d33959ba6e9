/**
 * <last-lamp>: what each fixture on a low-voltage run gets, on the page of somebody who sells them.
 *
 * One file on purpose: subresource integrity covers the file that a page names and nothing that it imports. It needs
 * no build, makes no markup from text, keeps nothing, and asks nobody but the service that it came from.
 */

const VERSION = "1.0.0";

/** Files that go with this one, each with the hash under which alone it is believed. */
const COMPANIONS = {
  "calculator.css": "sha384-KfDMbZT9TGRdXJCNimI9WcindT4uny18lN68w04ToaCsIfFh9X6lDCkDDofncPdC",
  "words.ar.json": "sha384-KiccioBS/RIvVTVnXxHOGgTC0ixEoyT9GW+mfK0BZjm5jU1UAYx1Mgk5rI4QeYp3",
  "words.de.json": "sha384-Efvx+IzZcx1yiau4YSAVv0caKKzNU8fChTFmOwHzXlri3URVaZWtDJWs+JDtC+a6",
  "words.es.json": "sha384-uGu8l/R9oFFlMpvRbLs2E9ekg74QkIadvtTgSW+Jm9ZN58Eo0vCAdp3MBqVCBD5Y",
};
const RIGHT_TO_LEFT = ["ar"];

const SETTLED_MS = 350;
const ANNOUNCED_MS = 600;
const PATIENCE_MS = 20_000;
const COMPANIONS_MS = 3_000;
const FEET_IN_METRE = 1 / 0.3048;
const SHAPES_UP_TO = 60;
const TRIED_AT_MOST = 5;

/**
 * Between which volts fixtures for 12 V are at home where no window is stated; others scale. The service judges by its
 * own tables; this is for the shading alone, and a test holds the two together.
 */
const USUAL_WINDOW = { led: [10, 15], led_of_several_taps: [10, 12.5], halogen: [10.5, 12.5], nominal: 12 };

const SIZES = {
  us: ["18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG"],
  metric: ["0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2"],
};
const USUAL_SIZE = { us: "12 AWG", metric: "2.5 mm2" };

const RUN = "/wiring/runs/0";
const LINE = `${RUN}/fixtures/0`;

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
  { name: "count", group: "fixtures", required: true, places: [`${LINE}/count`] },
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
const SETTINGS = ["lang", "service", "key", "scheme", "level", "taps", "maximum-drop", "currency"];

const isWithin = (pointer, place) => pointer === place || pointer.startsWith(`${place}/`);
const attributeOf = (name) => name.replaceAll("_", "-");

const SVG = "http://www.w3.org/2000/svg";

/** Makes an element of HTML; text stays text, functions are listeners, what is null or false is left out. */
function make(tag, attributes = {}, ...children) {
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
function sign(severity) {
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
class Numbers {
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
    if (!/^(\d+[.,]?\d*|[.,]\d+)$/.test(text)) return "not_a_number";
    const foreign = this.decimal === "," ? "." : ",";
    if (/^[1-9]\d{0,2}[.,]\d{3}$/.test(text) && text.includes(foreign)) return "ambiguous";
    return Number(text.replace(",", "."));
  }
}

/** Texts of one language over English; what neither knows is said as the service says it. */
class Words {
  constructor(language, texts, numbers) {
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

  /** Bounds as the service writes them (`>= 1`), as people do. */
  bounds(allowed = []) {
    const number = (text) => text.replace(/-?\d[\d.e+-]*/, (digits) => this.numbers.shown(Number(digits), 6));
    const written = allowed.map((text) => number(text).replace(">=", "≥").replace("<=", "≤"));
    return this.numbers.together(written.join(", "));
  }

  #template(key) {
    const found = (texts) => key.split("/").reduce((part, name) => part?.[name], texts);
    return found(this.texts) ?? found(ENGLISH);
  }

  #filled(template, values) {
    return template.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
  }

  /** Node for a text of the service: its code in this language, or else its own English marked as such. */
  coded(list, row, values = {}) {
    const template = this.#template(`${list}/${row.code}`);
    if (template === undefined) return make("span", { lang: "en", dir: "ltr" }, row.message ?? row.detail ?? row.code);
    return make("span", {}, this.#filled(template, values));
  }

  /** What a finding, or several of one code, say. */
  finding(rows) {
    const worst = rows.reduce((one, other) => (isWorse(other, one) ? other : one));
    const { measured, limit, parameters } = worst;
    const values = Object.fromEntries(parameters.map(({ name, value }) => [name, value]));
    if (values.conductor) values.conductor = this.numbers.size(values.conductor);
    const digits = measured && limit ? this.numbers.compared(measured, limit) : 2;
    if (measured) values.measured = this.numbers.quantity(measured.value, measured.unit, digits);
    if (limit) values.limit = this.numbers.quantity(limit.value, limit.unit, digits);
    values.where = this.#place(rows);
    const text = this.coded("findings", worst, values);
    if (values.corner && !text.lang) text.append(` (${this.#corner(values.corner)})`);
    return text;
  }

  #place(rows) {
    const { pointer } = rows[0].subject;
    if (!pointer.startsWith(LINE)) return this.get(pointer.startsWith("/supply") ? "the_supply" : "the_run");
    const numbers = rows.map(({ subject }) => subject.number).filter(Boolean);
    if (!numbers.length) return this.get("the_fixture");
    return this.get(numbers.length > 1 ? "fixture_numbers" : "fixture_number", { number: this.#ranges(numbers) });
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

/** Findings of one code and severity about fixtures are one sentence: two hundred alike would hide the others. */
function gathered(findings) {
  const groups = new Map();
  for (const finding of findings) {
    const alike = finding.subject.pointer.startsWith(LINE);
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

/** The job as the service takes it; `values` are read numbers and chosen names, `stock` what was picked of it. */
function jobOf(values, picked, maximumDrop) {
  const job = {
    units: values.units,
    supply: supplyOf(values, picked.transformer),
    wiring: wiringOf(values, picked.cable),
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
function carriers(transformers, values) {
  const drawn = values.count * Math.max(values.watts, values.volt_amperes ?? 0);
  const rated = ({ rating }) => rating.value * (rating.unit === "kVA" ? 1000 : 1);
  const enough = transformers.filter((item) => rated(item) >= drawn);
  return enough.sort((one, other) => rated(one) - rated(other)).slice(0, TRIED_AT_MOST);
}

function wiringOf(values, { conductor, material, stranding }) {
  const unit = values.units === "us" ? "ft" : "m";
  const line = {
    at: quantity(values.first, unit),
    count: values.count,
    spacing: values.count > 1 ? quantity(values.spacing, unit) : null,
    load: loadOf(values),
    window: values.lowest === null ? null : { minimum: volts(values.lowest), maximum: volts(values.highest) },
  };
  const cable = without({ kind: "listed", conductor, material, stranding });
  return { form: "runs", nominal_voltage: volts(Number(values.volts)), runs: [{ cable, fixtures: [without(line)] }] };
}

function loadOf(values) {
  const power = quantity(values.watts, "W");
  if (values.lamp === "halogen") return { kind: "filament", power, rated_voltage: volts(Number(values.volts)) };
  const apparent = values.volt_amperes === null ? null : quantity(values.volt_amperes, "VA");
  return without({ kind: "constant-power", power, apparent_power: apparent, power_factor: values.power_factor });
}

/** Between which volts the picture is shaded. */
function windowOf(values, taps) {
  if (values.lowest !== null) return [values.lowest, values.highest];
  const kind = values.lamp === "led" && taps?.length > 1 ? "led_of_several_taps" : values.lamp;
  return USUAL_WINDOW[kind].map((bound) => (bound * Number(values.volts)) / USUAL_WINDOW.nominal);
}

/** Nobody answered, or answered that it cannot now; `seconds` is when to ask again, where it was said. */
class Away extends Error {
  constructor(seconds = null) {
    super("away");
    this.seconds = seconds;
  }
}

class Refused extends Error {
  constructor(problem) {
    super(problem.detail);
    this.problem = problem;
  }
}

/** Posts one question. A newer question aborts it through `signal`. */
async function ask(address, key, question, signal) {
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

/** Volts along the run: the window shaded, what low and high mains make of it, one mark for each fixture. */
function picture(points, [low, high], width, numbers, rightToLeft) {
  const size = { width, height: Math.min(300, Math.max(200, width * 0.45)), start: 46, end: 12, top: 22, bottom: 34 };
  const heights = points.flatMap(({ volts: at, lowest, highest }) => [at, lowest, highest]).concat(low, high);
  const [bottom, top] = [Math.min(...heights), Math.max(...heights)];
  const margin = (top - bottom) * 0.08 || 1;
  const end = points.at(-1).at || 1;
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
  const band = draw("rect", {
    class: "window",
    x: Math.min(x(0), x(end)),
    width: Math.abs(x(end) - x(0)),
    y: y(high),
    height: y(low) - y(high),
  });
  const corners = [...points.map((p) => [p.at, p.highest]), ...[...points].reverse().map((p) => [p.at, p.lowest])];
  const path = (pairs) => pairs.map(([at, value]) => `${x(at).toFixed(1)},${y(value).toFixed(1)}`).join(" ");
  const bounds = [low, high].map((value) =>
    draw("line", { class: "bound", x1: x(0), x2: x(end), y1: y(value), y2: y(value) }),
  );
  return draw(
    "svg",
    {
      width: size.width,
      height: size.height,
      viewBox: `0 0 ${size.width} ${size.height}`,
      "aria-hidden": "true",
      part: "picture",
    },
    band,
    ...bounds,
    ...axes,
    draw("polygon", { class: "between", points: path(corners) }),
    draw("polyline", { class: "profile", points: path(points.map((p) => [p.at, p.volts])) }),
    ...points
      .filter(({ state }) => state)
      .map((point) => mark(point, x(point.at), y(point.volts), points.length > SHAPES_UP_TO)),
  );
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
  constructor(spec, words, choices, unit) {
    this.spec = spec;
    this.words = words;
    const [hint, error] = [`${spec.name}-hint`, `${spec.name}-error`];
    this.label = make("label", { for: spec.name });
    this.hint = make(
      "small",
      { id: hint, class: "hint" },
      words.has(`hints/${spec.name}`) ? words.get(`hints/${spec.name}`) : "",
    );
    this.error = make("small", { id: error, class: "error", hidden: true });
    const named = {
      id: spec.name,
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

/** The form: every input, what hangs on what, and what is picked of the page's stock. */
class Inputs {
  #fields = new Map();
  #touched = new Set();

  constructor({ words, stock, taps, units, edited }) {
    this.words = words;
    this.stock = stock;
    this.tapsNamed = taps;
    this.unitsAtFirst = units;
    this.edited = edited;
    const groups = ["supply", "cable", "fixtures"].map((group) => this.#group(group));
    this.element = make(
      "div",
      { class: "form", part: "form", role: "group", "aria-label": words.get("inputs") },
      ...groups,
    );
    this.#renewSupply();
  }

  #group(group) {
    const { words } = this;
    const specs = FIELDS.filter(
      (spec) => spec.group === group && (spec.name !== "transformer" || this.stock.transformers.length),
    );
    const made = (more) => specs.filter((spec) => Boolean(spec.more) === more).map((spec) => this.#field(spec).element);
    const [plain, folded] = [made(false), made(true)];
    const fields = make("div", { class: "fields" }, ...plain);
    const summary = folded.length && make("summary", {}, words.get(`more/${group}`));
    const more = summary ? make("details", {}, summary, make("div", { class: "fields" }, ...folded)) : null;
    return make(
      "fieldset",
      { part: "fieldset" },
      make("legend", { part: "legend" }, words.get(`groups/${group}`)),
      fields,
      more,
    );
  }

  #field(spec) {
    const field = new Field(
      spec,
      this.words,
      this.#choices(spec),
      spec.unit === "length" ? this.lengthUnit : spec.unit,
    );
    this.#fields.set(spec.name, field);
    if (spec.name === "units") field.value = this.unitsAtFirst;
    if (spec.name === "cable") field.value = USUAL_SIZE[this.units];
    field.control.addEventListener("input", () => this.#changed(spec.name));
    field.control.addEventListener("blur", () => this.#left(spec.name));
    return field;
  }

  #choices({ name, choices }) {
    const { words, stock, units } = this;
    const { numbers } = words;
    switch (choices) {
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

  get cable() {
    const { value } = this.#fields.get("cable").control;
    return this.stock.cables.find((item) => item.id === value) ?? { conductor: value };
  }

  /** The terminals to choose from: those of the picked transformer, or those that the page names. */
  get taps() {
    return this.transformer?.taps ?? (this.tapsNamed.length ? this.tapsNamed : null);
  }

  /** The job that stands in the inputs. */
  job(values, maximumDrop) {
    return jobOf({ ...values, taps: this.taps }, this, maximumDrop);
  }

  control(name) {
    return this.#fields.get(name)?.control ?? this.#fields.get("count").control;
  }

  /** Fills inputs from machine-written values by name, those that hang on others last. */
  fill(values) {
    for (const name of ["units", "transformer", ...FIELDS.map((spec) => spec.name)]) {
      const value = values[name];
      if (value === undefined || value === null || !this.#fields.has(name)) continue;
      this.#fields.get(name).value = value;
      if (name === "units") this.#renewLengths();
      if (["transformer", "kind", "lamp"].includes(name)) this.#renewSupply();
    }
  }

  /** What stands in the inputs, as a machine writes it. */
  typed() {
    const plain = ({ value, control, isNumber }) =>
      isNumber ? (typeof value === "number" ? value : "") : control.value;
    return Object.fromEntries([...this.#fields].map(([name, field]) => [name, plain(field)]));
  }

  /** The values by name, and what is wrong with which. */
  read() {
    const [values, mistakes] = [{}, new Map()];
    for (const { name, required } of FIELDS) {
      const field = this.#fields.get(name);
      const value = field?.value ?? null;
      values[name] = value;
      if (field?.isNumber && typeof value === "string") mistakes.set(name, value);
      else if (required && value === null && !(name === "spacing" && values.count === 1)) mistakes.set(name, "missing");
    }
    const { lowest, highest } = values;
    if ((lowest === null) !== (highest === null)) mistakes.set(lowest === null ? "lowest" : "highest", "both");
    return { values, mistakes };
  }

  /** Shows what is wrong, and what is missing where somebody has been already. */
  complain(mistakes, { all = false } = {}) {
    for (const [name, field] of this.#fields) {
      const reason = mistakes.get(name);
      const shown = reason && (reason !== "missing" || all || this.#touched.has(name));
      field.complain(shown ? document.createTextNode(this.words.get(`mistakes/${reason}`)) : null);
    }
  }

  /** Shows each complaint of the service at the input that it is about; returns those, and what belongs to none. */
  refuse(errors) {
    const [named, stray] = [[], []];
    for (const row of errors) {
      const spec = FIELDS.find(
        ({ name, places }) => this.#fields.has(name) && places?.some((place) => isWithin(row.pointer, place)),
      );
      if (!spec) {
        stray.push(row);
        continue;
      }
      this.#fields
        .get(spec.name)
        .complain(this.words.coded("errors", row, { allowed: this.words.bounds(row.allowed) }));
      named.push(spec.name);
    }
    return { named, stray };
  }

  disable(disabled) {
    for (const { control } of this.#fields.values()) control.disabled = disabled;
  }

  #changed(name) {
    if (name === "units") {
      this.#convert();
      this.#renewLengths();
    }
    if (["transformer", "kind", "lamp"].includes(name)) this.#renewSupply();
    this.edited();
  }

  #left(name) {
    this.#touched.add(name);
    const field = this.#fields.get(name);
    if (field.spec.required && field.value === null) this.complain(this.read().mistakes);
  }

  #replace(name) {
    const before = this.#fields.get(name);
    const { value } = before;
    const after = this.#field(before.spec);
    after.value = typeof value === "string" && before.isNumber ? null : value;
    before.element.replaceWith(after.element);
  }

  /** A transformer of the stock brings its terminals, rating and regulation along; direct current asks for less. */
  #renewSupply() {
    this.#replace("tap");
    const picked = Boolean(this.transformer);
    const direct = !picked && this.control("kind").value === "dc-supply";
    const inPhase = direct || this.control("lamp").value === "halogen";
    const hidden = {
      kind: picked,
      rating: picked,
      regulation: picked || direct,
      mains: direct,
      volt_amperes: inPhase,
      power_factor: inPhase,
    };
    for (const [name, is] of Object.entries(hidden)) this.#fields.get(name).element.hidden = is;
    this.#fields.get("rating").measuredIn(direct ? "W" : "VA");
  }

  #renewLengths() {
    for (const name of ["first", "spacing"]) this.#fields.get(name).measuredIn(this.lengthUnit);
    this.#replace("cable");
    this.#replace("mains");
  }

  /** The same lengths in the other unit. */
  #convert() {
    const factor = this.units === "us" ? FEET_IN_METRE : 1 / FEET_IN_METRE;
    for (const name of ["first", "spacing"]) {
      const field = this.#fields.get(name);
      if (typeof field.value === "number") field.value = Math.round(field.value * factor * 100) / 100;
    }
  }
}

/** What is shown beside the form: verdict, findings, picture, table, what would work, and what to take care of. */
class Answer {
  #rows = [];
  #reply = null;
  #window = null;
  #timer = 0;

  constructor({ words, stock, level, find, choose }) {
    this.words = words;
    this.stock = stock;
    const button = (key, click) => make("button", { type: "button", part: `button ${key}`, click }, words.get(key));
    this.status = make("p", { class: "status", part: "status" });
    this.unanswered = make("div", { class: "away", part: "away", hidden: true });
    this.summary = make("p", { class: "summary", part: "summary" });
    this.findings = make("ul", { class: "findings", part: "findings" });
    this.figure = make("figure", { part: "figure" });
    this.table = make("div", {
      class: "table",
      part: "table",
      tabindex: "0",
      role: "region",
      "aria-label": words.get("table"),
    });
    this.assumptions = make("details", { part: "assumptions" });
    this.shown = make("div", { hidden: true }, this.summary, this.findings, this.figure, this.table, this.assumptions);
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
    this.shown.hidden = true;
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

  /** Shows a reply to `/v1/voltage-drop`; returns how severe its verdict is. */
  show(reply, window) {
    const { words } = this;
    this.#reply = reply;
    this.#window = window;
    this.#rows = reply.status === "solved" ? rowsOf(reply) : [];
    const [severity, text] = this.#verdict(reply);
    this.summary.replaceChildren(sign(severity), make("span", {}, text));
    this.findings.replaceChildren(...gathered(reply.findings).map((rows) => this.#finding(rows)));
    const assumed = reply.assumptions.map((row) => make("li", {}, words.coded("assumptions", row)));
    this.assumptions.replaceChildren(make("summary", {}, words.get("assumed")), make("ul", {}, ...assumed));
    this.figure.hidden = this.table.hidden = !this.#rows.length;
    this.table.replaceChildren(...(this.#rows.length ? [tableOf(this.#rows, words)] : []));
    this.wait();
    this.shown.hidden = false;
    this.#redraw();
    this.announce(text);
    return severity;
  }

  #verdict({ status, findings }) {
    const { words } = this;
    if (status !== "solved") return ["fault", words.get("cannot_carry")];
    const range = this.#range(this.#rows.map(({ lowest }) => lowest), this.#rows.map(({ highest }) => highest));
    const severities = findings.map(({ severity }) => severity);
    if (severities.includes("fault")) return ["fault", words.get("fails", range)];
    return severities.includes("warning")
      ? ["warning", words.get("works_with_warnings", range)]
      : ["good", words.get("works", range)];
  }

  #range(lowest, highest) {
    const { numbers } = this.words;
    return {
      lowest: numbers.volts(Math.min(...lowest), "floor"),
      highest: numbers.volts(Math.max(...highest), "ceil"),
    };
  }

  #finding(rows) {
    const [{ severity }] = rows;
    const name = this.words.has(`severities/${severity}`) ? this.words.get(`severities/${severity}`) : severity;
    return make(
      "li",
      { class: severity },
      sign(severity),
      make("span", {}, make("strong", {}, `${name}: `), this.words.finding(rows)),
    );
  }

  /** The picture is drawn for the width that there is, so that its writing keeps its size. */
  #redraw() {
    const width = this.figure.clientWidth;
    if (!this.#rows.length || !width) return;
    const { supply, envelope } = this.#reply;
    const extremes = envelope?.supply;
    const start = { at: 0, ...spread(supply.terminal, extremes?.lowest_terminal, extremes?.highest_terminal) };
    const rightToLeft = RIGHT_TO_LEFT.includes(this.words.language);
    const [low, high] = this.#window.map((value) => this.words.numbers.quantity(value, "V"));
    const key = envelope && !envelope.collapsed.length ? "caption_range" : "caption";
    const caption = make("figcaption", {}, this.words.get(key, { low, high }));
    this.figure.replaceChildren(
      caption,
      picture([start, ...this.#rows], this.#window, width, this.words.numbers, rightToLeft),
    );
  }

  /** Shows what would work, or what was tried where nothing does; null takes it away. */
  propose(proposal, use) {
    this.proposal.hidden = !proposal;
    this.proposal.replaceChildren();
    if (!proposal) return;
    const works = proposal.gauge.status === "recommended";
    const title = make("p", {}, make("strong", {}, this.words.get(works ? "proposed" : "none_works")));
    this.proposal.append(
      title,
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
    const [chosen] = gauge.chosen;
    const { quantity: length } = gauge.purchase[0];
    const cable = this.stock.cables.find(({ id }) => id === chosen.stock_id)?.name ?? numbers.size(chosen.conductor);
    say("cable", { cable, length: numbers.quantity(length.value, length.unit, 1) });
    if (gauge.taps?.length) say("tap", { tap: numbers.quantity(gauge.taps[0].tap.value, "V") });
    if (gauge.total) say("price", { price: this.#price(gauge.total, gauge.currency) });
    if (carries) say("carries", { share: numbers.quantity(100 * loading.loading.loading_ratio, "percent", 0) });
    if (transformer) {
      const rating = numbers.quantity(transformer.rating.value, transformer.rating.unit);
      say("transformer", { transformer: transformer.name ? `${transformer.name} (${rating})` : rating });
    } else if (loading && !carries) {
      lines.push(
        ...gathered(loading.findings.filter(({ severity }) => severity === "fault")).map((rows) => this.#finding(rows)),
      );
    }
    const { lowest_voltage: lowest, highest_voltage: highest } = gauge.outcome;
    if (lowest && highest) say("range", this.#range([lowest.value], [highest.value]));
    const warned = gathered(gauge.findings.filter(({ severity }) => severity !== "note"));
    return lines.concat(warned.map((rows) => this.#finding(rows)));
  }

  #price(amount, currency) {
    const style = currency ? { style: "currency", currency } : {};
    return new Intl.NumberFormat(this.words.numbers.locale, style).format(Number(amount));
  }

  #remedies({ remedies }) {
    return remedies.map((row) => {
      const values = { parameter: this.words.numbers.size(row.parameter ?? ""), where: this.words.get("the_run") };
      const helps = row.outcome.passes;
      const text = make(
        "span",
        {},
        this.words.coded("remedies", row, values),
        ` (${this.words.get(helps ? "helps" : "not_enough")})`,
      );
      return make("li", {}, sign(helps ? "good" : "fault"), text);
    });
  }
}

/** One row for each fixture: its volts, between what they move, and the worst that is said of it. */
function rowsOf(reply) {
  const states = {
    "fixture-below-window": { fault: "below", warning: "low" },
    "fixture-above-window": { fault: "above", warning: "high" },
  };
  const said = new Map();
  for (const { subject, code, severity } of reply.findings) {
    const state = states[code]?.[severity];
    const number = subject.number ?? 1;
    if (state && (severity === "fault" || !said.has(number))) said.set(number, state);
  }
  const extremes = new Map(reply.envelope?.fixtures.map((row) => [row.number ?? 1, row]));
  return reply.fixtures.map(({ number = 1, at, voltage, verdict }) => {
    const { lowest, highest } = extremes.get(number) ?? {};
    const state = said.get(number) ?? verdict;
    return { number, at: at.value, unit: at.unit, state, ...spread(voltage, lowest, highest) };
  });
}

/** Volts as stated, and the extremes; those say nothing of a corner in which the run collapses. */
function spread({ value }, lowest, highest) {
  const [low, high] = [lowest?.voltage.value ?? value, highest?.voltage.value ?? value];
  return { volts: value, lowest: Math.min(value, low), highest: Math.max(value, high) };
}

const SEVERITY_OF_STATE = { inside: "good", low: "warning", high: "warning", below: "fault", above: "fault" };
const ROUNDED = { low: "floor", below: "floor", high: "ceil", above: "ceil" };

function tableOf(rows, words) {
  const { numbers } = words;
  const head = (key) => make("th", { scope: "col" }, words.get(`columns/${key}`));
  const range = ({ lowest, highest }) => {
    const between = { lowest: numbers.volts(lowest, "floor"), highest: numbers.volts(highest, "ceil") };
    return make("small", {}, words.get("between", between));
  };
  const stated = (state) => (words.has(`states/${state}`) ? words.get(`states/${state}`) : state);
  const line = (row) => make("tr", {},
    make("th", { scope: "row" }, numbers.shown(row.number)),
    make("td", {}, numbers.quantity(row.at, row.unit, 1)),
    make("td", {}, numbers.volts(row.volts, ROUNDED[row.state]), row.lowest === row.highest ? null : range(row)),
    make("td", {}, sign(SEVERITY_OF_STATE[row.state] ?? "note"), make("span", {}, stated(row.state))));
  const columns = make("thead", {}, make("tr", {}, ...["number", "at", "volts", "state"].map(head)));
  return make("table", {}, columns, make("tbody", {}, ...rows.map(line)));
}

/** The element. It asks; `Inputs` and `Answer` show. */
export class LastLamp extends HTMLElement {
  static formAssociated = true;
  static version = VERSION;
  static observedAttributes = [...FIELDS.map(({ name }) => attributeOf(name)), ...SETTINGS];

  #internals = this.attachInternals();
  #stock = { cables: [], transformers: [] };
  #given = [];
  #inputs = null;
  #answer = null;
  #settled = null;
  #severity = null;
  #proposal = null;
  #bought = null;
  #kept = null;
  #asking = new AbortController();
  #timer = 0;
  #building = 0;

  constructor() {
    super();
    this.attachShadow({ mode: "open", delegatesFocus: true }).adoptedStyleSheets = [SHEET];
  }

  connectedCallback() {
    // A page may have set the property before this script was there to see it.
    if (Object.hasOwn(this, "stock")) {
      const { stock } = this;
      delete this.stock;
      this.stock = stock;
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
    if (!this.#inputs || before === now) return;
    if (name === "scheme") this.shadowRoot.firstElementChild.dataset.scheme = now ?? "";
    else if (["lang", "taps", "level"].includes(name)) this.#build();
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
    if (!Array.isArray(stock)) throw new TypeError("stock is an array of cables and transformers.");
    this.#given = structuredClone(stock);
    const having = (member) => this.#given.filter((item) => item && Object.hasOwn(item, member));
    this.#stock = { cables: having("conductor"), transformers: having("rating") };
    if (this.#inputs) this.#build();
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
    this.#inputs.fill(kept);
    if (focused) this.#inputs.control(focused).focus();
    if (this.matches(":disabled")) this.formDisabledCallback(true);
    this.#changed(0);
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
      make("div", { class: "root", part: "root", lang: words.language, dir, "data-scheme": scheme }, sides),
    );
  }

  #ask(study, question, signal) {
    const origin = this.getAttribute("service") || new URL(import.meta.url).origin;
    return ask(`${origin.replace(/\/$/, "")}/v1/${study}`, this.getAttribute("key"), question, signal);
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
      this.#severity = this.#answer.show(reply, windowOf(asked.values, this.#inputs.taps));
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
      const question = { ...job, supply, ...stock(this.#stock.cables), family, taps: supply.taps ? "choose" : "keep" };
      return this.#ask("gauge-recommendation", question, signal);
    };
    const gauge = await cables(job.supply);
    if (job.supply.kind !== "transformer") return { gauge };
    if (gauge.status !== "recommended") {
      for (const transformer of carriers(this.#stock.transformers, values)) {
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
    const [chosen] = gauge.chosen;
    const rating = transformer && transformer.rating.value * (transformer.rating.unit === "kVA" ? 1000 : 1);
    const of = transformer?.id ? { transformer: transformer.id } : { rating };
    this.#inputs.fill({ ...of, cable: chosen.stock_id ?? chosen.conductor, tap: gauge.taps?.[0]?.tap.value });
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
    const { cable, transformer } = this.#inputs;
    const [{ fixtures: [line] }] = request.wiring.runs;
    const length = quantity(line.at.value + (line.spacing?.value ?? 0) * (line.count - 1), line.at.unit);
    const rating = request.supply.winding?.rating ?? request.supply.rating;
    this.#tell("choice", structuredClone({
      cable: without({ id: cable.id, conductor: cable.conductor, length, purchase: this.#bought }),
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
  computing: "Computing…", searching: "Looking for what works…",
  fill_in: "Fill in the fixtures to see their volts.",
  correct: "Please look at the inputs that are marked.",
  refused: "The calculation was refused.",
  away: "The calculation service does not answer. What you typed is kept.",
  away_until: "The calculation service is busy; it asks for {seconds} seconds. What you typed is kept.",
  retry: "Try again", find: "Find what works", use: "Fill this in", choose: "Choose this cable and transformer",
  chosen: "Chosen.",
  works: "Every fixture stays inside its window: {lowest} to {highest}.",
  works_with_warnings: "Fixtures get {lowest} to {highest}. Look at the warnings.",
  fails: "It does not work like this. Fixtures would get {lowest} to {highest}.",
  cannot_carry: "This cable cannot carry this load at all.",
  proposed: "This would work:", none_works: "No cable on the list is enough. What else was tried:", helps: "works",
  not_enough: "not enough by itself",
  assumed: "What was taken for granted", care: "Before you dig",
  caption: "Volts along the run. Between the broken lines, {low} to {high}, the fixtures are at home.",
  caption_range: "Volts along the run, with the spread between low and high mains. Between the broken lines, {low} to {high}, the fixtures are at home.",
  between: "({lowest} to {highest})",
  another_transformer: "Another, not on this list", the_supply: "The supply", the_run: "The run",
  the_fixture: "The fixture", fixture_number: "Fixture {number}", fixture_numbers: "Fixtures {number}",
  groups: { supply: "Supply", cable: "Cable", fixtures: "Fixtures" },
  more: { supply: "More about the supply", fixtures: "More about the fixtures" },
  labels: {
    transformer: "Transformer", kind: "Kind", volts: "Fixtures made for", tap: "Terminal used", rating: "Rating",
    regulation: "Regulation",
    measured: "Measured with nothing connected", mains: "Mains", cable: "Size", units: "Lengths in", count: "How many",
    watts: "Power of each",
    first: "Supply to first fixture", spacing: "From one to the next", lamp: "Lamp",
    volt_amperes: "Volt-amperes of each", power_factor: "Power factor",
    lowest: "Least that it is made for", highest: "Most that it is made for",
  },
  hints: {
    tap: "Empty: as the fixtures", rating: "On its plate", watts: "The real watts, not the “equivalent” on the box",
    first: "Along the cable, one way",
    regulation: "Rise from full load to none. Empty: the voltage does not sag",
    measured: "With a meter at the terminal", volt_amperes: "On the label. Empty: as the watts",
    power_factor: "0 to 1, if the label gives no volt-amperes",
  },
  choices: {
    transformer: "Transformer, AC", "dc-supply": "DC supply", range_us: "110 to 126 V of 120 V",
    range_metric: "90 to 110 %", rated: "Just as rated",
    us: "Feet", metric: "Metres", led: "LED", halogen: "Halogen",
  },
  mistakes: {
    missing: "Please fill this in.", not_a_number: "Please write a number.",
    ambiguous: "This may mean two numbers. Write it without separators between thousands.",
    grouped: "Please write the number without spaces or separators between thousands.",
    both: "Please give both, the least and the most.",
  },
  columns: { number: "Fixture", at: "At", volts: "Volts", state: "Verdict" },
  states: { inside: "inside", below: "too low", low: "low", high: "high", above: "too high" },
  severities: { fault: "Fault", warning: "Warning", note: "Note" },
  corners: {
    "lowest mains": "lowest mains", "highest mains": "highest mains", "mains as stated": "mains as stated",
    "with little else on": "with little else on",
    "hot cable": "hot cable", "cold cable": "cold cable",
  },
  proposal: {
    cable: "Cable: {cable}, {length}", tap: "Terminal: {tap}", transformer: "Transformer: {transformer}",
    price: "Cable comes to {price}",
    carries: "Your transformer carries it, at {share} of its rating", range: "Fixtures get {lowest} to {highest}",
  },
  errors: { "out-of-range": "This must be {allowed}.", "not-a-multiple": "This must be a whole number." },
  problems: {
    "key-missing": "This page needs a key for the calculation service. Please tell whoever runs the page.",
    "key-unknown": "The key of this page is not good at the calculation service. Please tell whoever runs the page.",
    "origin-not-allowed": "This page may not ask the calculation service. Please tell whoever runs the page.",
  },
  findings: {
    "fixture-below-window": "{where}: {measured}, and {limit} is the least. Thicker cable, a higher terminal or a split run raises it.",
    "fixture-above-window": "{where}: {measured}, and {limit} is the most. A lower terminal brings it down.",
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
