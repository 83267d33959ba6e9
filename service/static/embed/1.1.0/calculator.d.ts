/** Types of the calculator `<last-lamp>`, for a page that is written in TypeScript. */

/** A value with its unit, as the service writes it. */
export interface Quantity {
  value: number;
  unit: string;
}

/** A cable of the page's stock: as in `/v1/gauge-recommendation`. */
export interface StockCable {
  id: string;
  conductor: string;
  name?: string;
  material?: "copper" | "copper-clad-aluminium" | "aluminium";
  stranding?: "solid" | "stranded" | "flexible";
  price?:
    | { kind: "per-length"; amount: string; per: "m" | "ft" }
    | { kind: "per-spool"; spools: { length: Quantity; amount: string }[] };
}

/** A transformer of the page's stock: as in `/v1/transformer-loading`. */
export interface StockTransformer {
  id: string;
  rating: Quantity;
  taps: Quantity[];
  name?: string;
  regulation_percent?: number;
  circuits?: { name: string; limit?: Quantity }[];
  minimum_load?: Quantity;
  price?: string;
}

/** A group of fixtures beside the first one: the number of its run, and what stands in its inputs. */
export interface FixtureGroup {
  run?: number;
  cable?: string;
  tap?: number;
  count?: number;
  watts?: number;
  first?: number;
  spacing?: number;
  lamp?: "led" | "halogen";
  volt_amperes?: number;
  power_factor?: number;
  lowest?: number;
  highest?: number;
}

/** A request to `/v1/voltage-drop` and its reply; their shapes are those of the OpenAPI document. */
export interface Answer {
  request: Record<string, unknown>;
  reply: { status: string; [member: string]: unknown };
}

/** What somebody chose. An `id` is the page's own; it is absent where the choice is none of the stock. */
export interface Choice extends Answer {
  /** That of the first run; all purchases are here. */
  cable: { id?: string; conductor: string; length: Quantity; purchase?: Record<string, unknown>[] };
  /** One for each run. */
  cables: { run?: string; id?: string; conductor: string; length: Quantity; tap?: Quantity }[];
  transformer: { id?: string; rating?: Quantity };
  terminal: Quantity;
  verdict: "good" | "warning" | "fault";
}

/** Why there is no answer. */
export type Trouble =
  | { kind: "refused"; problem: { code: string; detail: string; [member: string]: unknown } }
  | { kind: "away"; retryAfterSeconds: number | null };

export interface LastLampEvents {
  "last-lamp-answer": CustomEvent<Answer>;
  "last-lamp-choice": CustomEvent<Choice>;
  "last-lamp-problem": CustomEvent<Trouble>;
}

export declare class LastLamp extends HTMLElement {
  static readonly formAssociated: true;
  static readonly version: string;
  /** Reactive proxies are copied. */
  stock: (StockCable | StockTransformer)[];
  groups: FixtureGroup[];
  readonly answer: Answer | null;
  readonly form: HTMLFormElement | null;
  name: string | null;
  readonly type: string;
  readonly validity: ValidityState;
  readonly validationMessage: string;
  readonly willValidate: boolean;
  checkValidity(): boolean;
  reportValidity(): boolean;
  addEventListener<K extends keyof LastLampEvents>(
    type: K,
    listener: (this: LastLamp, event: LastLampEvents[K]) => unknown,
    options?: boolean | AddEventListenerOptions,
  ): void;
  addEventListener(
    type: string,
    listener: EventListenerOrEventListenerObject,
    options?: boolean | AddEventListenerOptions,
  ): void;
}

declare global {
  interface HTMLElementTagNameMap {
    "last-lamp": LastLamp;
  }
}
