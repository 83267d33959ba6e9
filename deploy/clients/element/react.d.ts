/** Types of `<last-lamp>` in JSX; write `import type {} from "lastlamp-element/react"` in a file that uses it. */
import type { DetailedHTMLProps, HTMLAttributes } from "react";
import type { FixtureGroup, LastLamp, LastLampEvents, StockCable, StockTransformer } from "./index.js";

type Attribute =
  | "volts" | "tap" | "rating" | "regulation" | "measured" | "kind" | "mains"
  | "cable" | "count" | "watts" | "first" | "spacing" | "lamp" | "volt-amperes" | "power-factor" | "lowest" | "highest"
  | "units" | "scheme" | "level" | "runs" | "taps" | "maximum-drop" | "currency" | "transformer"
  | "service" | "browser-key" | "name";

type Listeners = { [E in keyof LastLampEvents as `on${E}`]?: (event: LastLampEvents[E]) => void };

export interface LastLampAttributes
  extends Omit<HTMLAttributes<LastLamp>, Attribute>,
    Partial<Record<Attribute, string | number>>,
    Listeners {
  stock?: (StockCable | StockTransformer)[];
  groups?: FixtureGroup[];
}

declare module "react" {
  namespace JSX {
    interface IntrinsicElements {
      "last-lamp": DetailedHTMLProps<LastLampAttributes, LastLamp>;
    }
  }
}
