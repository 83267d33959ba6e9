/**
 * Puts the calculator into the boxes, pages and frameworks that shops have, and prints what became of it as JSON.
 *
 * node embed_parents.mjs CHROMIUM SERVICE PORT [FOLDER]: the page stands on PORT; with a folder, screenshots are left in it.
 */
import { readFile } from "node:fs/promises";
import { GARDEN, answered, barriers, opened, picture, reported, served, service, settled } from "./embed_host.mjs";

/** A file of a package as it is installed. */
const installed = (path) => readFile(new URL(`node_modules/${path}`, import.meta.url), "utf8");
const written = (attributes) =>
    Object.entries(attributes)
        .map(([name, value]) => ` ${name}="${value}"`)
        .join("");
const ELEMENT = `<last-lamp${written(GARDEN)}></last-lamp>`;

/** Parents that ask their children how wide they would like to be. */
const PARENTS = {
    flex: "display: flex",
    grid: "display: grid; justify-items: start",
    float: "float: inline-start",
    inline: "display: inline",
    "inline-block": "display: inline-block",
    "table-cell": "display: table-cell",
    "max-content": "inline-size: max-content",
};

/** How wide it is in each, beside how wide the page is, and whether anything sticks out. */
async function parents() {
    const seen = {};
    for (const [name, rule] of Object.entries(PARENTS)) {
        seen[name] = {};
        for (const width of [360, 1280]) {
            const page = { style: `.parent { ${rule} }`, inside: `<main><h1>Shop</h1><div class="parent">${ELEMENT}</div></main>` };
            const { tab, lamp, context } = await opened(page, { viewport: { width, height: 900 } });
            await answered(lamp);
            const box = await lamp.boundingBox();
            const room = await tab.evaluate(() => document.querySelector("main").clientWidth);
            const widest = await tab.evaluate(() => document.documentElement.scrollWidth);
            seen[name][width] = { share: box.width / room, widest };
            await picture(tab, `parent-${name}-${width}`);
            await context.close();
        }
    }
    return seen;
}

/** Light and dark pages in light and dark systems: the paper that the calculator has. */
async function schemes() {
    const seen = {};
    const pages = {
        silent: {},
        light: { style: "html { color-scheme: light }" },
        dark: { style: "html { color-scheme: dark; background: #111; color: #eee }" },
        both: { head: '<meta name="color-scheme" content="light dark">' },
        asked: { style: "html { color-scheme: light }", attributes: { ...GARDEN, scheme: "dark" } },
    };
    for (const [name, page] of Object.entries(pages)) {
        for (const colorScheme of ["light", "dark"]) {
            const { tab, lamp, context } = await opened({ attributes: GARDEN, ...page }, { colorScheme });
            await answered(lamp);
            const paper = await lamp.locator(".root").evaluate((root) => getComputedStyle(root).backgroundColor);
            seen[`${name} page, ${colorScheme} system`] = { paper, barriers: await barriers(tab, "last-lamp") };
            await picture(tab, `scheme-${name}-${colorScheme}`);
            await context.close();
        }
    }
    return seen;
}

/** A phone: every row of the table stands on the page, none behind a scroll bar of its own. */
async function phone() {
    const attributes = { ...GARDEN, count: "34", spacing: "3", cable: "8 AWG", rating: "600" };
    const { tab, lamp } = await opened({ attributes }, { viewport: { width: 360, height: 800 } });
    await answered(lamp);
    const last = lamp.locator("tbody tr").last();
    await tab.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
    const hidden = await lamp.evaluate(({ shadowRoot }) => {
        const table = shadowRoot.querySelector(".table");
        return [table.scrollHeight - table.clientHeight, table.scrollWidth - table.clientWidth];
    });
    const box = await last.boundingBox();
    await picture(tab, "phone-34");
    return {
        hidden,
        row: await last.innerText(),
        sides: [box.x, box.x + box.width],
        widest: await tab.evaluate(() => document.documentElement.scrollWidth),
    };
}

const STOCK = [
    { id: "lv-12", conductor: "12 AWG", price: { kind: "per-length", amount: "0.74", per: "ft" } },
    { id: "T-300", rating: { value: 300, unit: "VA" }, regulation_percent: 5, taps: [{ value: 12, unit: "V" }] },
];
const GROUPS = [{ run: 2, cable: "lv-12", count: 3, watts: 4, first: 10, spacing: 10 }];
const PICKED = { ...GARDEN, cable: "lv-12", transformer: "T-300", runs: "2", "browser-key": "lastlamp_browser_x" };

/** What a page that a framework builds shows, and what the framework hears. */
async function built(script, change) {
    const page = { framework: true, head: `<script type="module" src="${script}"></script>`, inside: '<main id="app"></main>' };
    const { tab, lamp, seen } = await opened(page);
    await answered(lamp);
    await lamp.locator("#transformer").waitFor();
    const { request } = await settled(lamp);
    const [asked] = await Promise.all([tab.waitForRequest("**/v1/voltage-drop"), tab.evaluate(change)]);
    await answered(lamp);
    return {
        runs: request.wiring.runs.map(({ cable, fixtures }) => [cable.conductor, fixtures[0].count]),
        rating: request.supply.winding.rating.value,
        key: (await asked.allHeaders()).authorization,
        changed: (await settled(lamp)).request.wiring.runs[0].cable.conductor,
        heard: await tab.evaluate(() => globalThis.heard > 0),
        name: await lamp.getAttribute("name"),
        complaints: seen.complaints,
    };
}

/** Vue: what it hands over are proxies of what the page keeps. */
async function vue() {
    const vue_ = served("js", await installed("vue/dist/vue.runtime.esm-browser.prod.js"));
    const script = served(
        "js",
        `import { createApp, h, reactive, ref } from "${vue_}";
        globalThis.heard = 0;
        globalThis.stock = ref(${JSON.stringify(STOCK)});
        const groups = reactive(${JSON.stringify(GROUPS)});
        const onLastLampAnswer = () => (globalThis.heard += 1);
        createApp({ setup: () => () => h("last-lamp", {
          ...${JSON.stringify(PICKED)}, name: "run", stock: globalThis.stock.value, groups, onLastLampAnswer,
        }) }).mount("#app");`,
    );
    return built(script, () => {
        // The list as the page keeps it, in place of what is in it.
        globalThis.stock.value.unshift({ id: "other", conductor: "8 AWG" });
        const lamp = document.querySelector("last-lamp");
        lamp.stock = globalThis.stock;
        lamp.setAttribute("cable", "other");
        lamp.setAttribute("level", "3");
    });
}

/** The CommonJS files of some packages as one script: React comes in no other form. */
async function bundled(modules) {
    const texts = await Promise.all(Object.values(modules).map(installed));
    const rows = Object.keys(modules).map(
        (name, index) => `${JSON.stringify(name)}: (module, exports, require) => {${texts[index]}\n}`,
    );
    return `const process = { env: { NODE_ENV: "production" } };
      const files = {${rows.join(",\n")}};
      const made = {};
      const require = (name) => {
        if (!made[name]) {
          const module = { exports: {} };
          made[name] = module;
          files[name](module, module.exports, require);
        }
        return made[name].exports;
      };\n`;
}

async function react() {
    const bundle = await bundled({
        react: "react/cjs/react.production.js",
        scheduler: "scheduler/cjs/scheduler.production.js",
        "react-dom": "react-dom/cjs/react-dom.production.js",
        "react-dom/client": "react-dom/cjs/react-dom-client.production.js",
    });
    const script = served(
        "js",
        `${bundle}
        globalThis.heard = 0;
        const { createElement, useState } = require("react");
        function Shop() {
          const [cable, setCable] = useState("lv-12");
          const [stock] = useState(${JSON.stringify([...STOCK, { id: "other", conductor: "8 AWG" }])});
          globalThis.setCable = setCable;
          return createElement("last-lamp", { ...${JSON.stringify(PICKED)}, cable, stock, name: "run",
            groups: ${JSON.stringify(GROUPS)}, "onlast-lamp-answer": () => (globalThis.heard += 1) });
        }
        require("react-dom/client").createRoot(document.getElementById("app")).render(createElement(Shop));`,
    );
    return built(script, () => globalThis.setCable("other"));
}

/** A proxy that no framework made, and what is no list. */
async function proxies() {
    const { lamp, tab } = await opened({ attributes: PICKED });
    await answered(lamp);
    return tab.evaluate((stock) => {
        const lamp_ = document.querySelector("last-lamp");
        const watched = (value) =>
            value && typeof value === "object"
                ? new Proxy(value, { get: (target, name) => watched(Reflect.get(target, name)) })
                : value;
        lamp_.stock = watched(stock);
        const taken = lamp_.stock;
        let refused = null;
        try {
            lamp_.stock = { id: "lv-12" };
        } catch (error) {
            refused = String(error);
        }
        return { taken, refused, kept: lamp_.stock.length };
    }, STOCK);
}

/** Lists that a framework hands over again and again, and what no list of groups should hold. */
async function handed() {
    const { tab, lamp } = await opened({ attributes: GARDEN });
    await answered(lamp);
    await lamp.locator("#watts").focus();
    const give = (groups) => lamp.evaluate((element, given) => (element.groups = given), groups);
    await give([{ run: 2, count: 3, watts: 4, first: 10, spacing: 10 }]);
    await lamp.locator("#count_2").waitFor();
    const focused = await lamp.evaluate(({ shadowRoot }) => shadowRoot.activeElement?.id);
    await lamp.locator("#count_2").fill("5");
    await give([{ run: 2, count: 3, watts: 4, first: 10, spacing: 10 }]);
    await answered(lamp);
    const again = (await settled(lamp)).request.wiring.runs.map(({ fixtures }) => fixtures[0].count);
    await give([null, 7, { run: "x", count: "many" }, { run: 99, count: 1 }, ...Array(40).fill({ run: 1 })]);
    await tab.waitForTimeout(600);
    const fieldsets = await lamp.locator(".groups fieldset").count();
    await give([]);
    await answered(lamp);
    const none = (await settled(lamp)).request.wiring.runs.length;
    await lamp.evaluate((element) => element.setAttribute("runs", "-3"));
    await answered(lamp);
    return { focused, again, fieldsets, none, add: await lamp.locator(".add").isVisible() };
}

/** Several groups on several runs, added and taken away by hand, in place of what the page gave. */
async function groups() {
    const { tab, lamp, seen } = await opened({
        attributes: { ...GARDEN, runs: "3", taps: "12 13 14", cable: "10 AWG" },
    });
    await answered(lamp);
    const shape = async () =>
        (await settled(lamp)).request.wiring.runs.map(({ name, tap, cable, fixtures }) => [
            name ?? null,
            tap?.value ?? null,
            cable.conductor,
            fixtures.map((line) => [line.name ?? null, line.count]),
        ]);
    const alone = await shape();
    await lamp.getByRole("button", { name: "Add fixtures" }).click();
    await lamp.locator("#count_2").fill("3");
    await lamp.locator("#tap_2").selectOption("14");
    await lamp.getByRole("button", { name: "Add fixtures" }).click();
    await lamp.locator("#run_3").selectOption("1");
    await lamp.locator("#first_3").fill("150");
    const three = await (await answered(lamp), shape)();
    const rows = await lamp.locator("tbody tr").allInnerTexts();
    const names = await lamp.locator("figure text.name").allTextContents();
    await lamp.getByRole("button", { name: "Find what works" }).click();
    await lamp.locator(".proposal button").waitFor();
    const proposal = await lamp.locator(".proposal").innerText();
    await lamp.locator(".proposal button").click();
    await answered(lamp);
    const used = await shape();
    await lamp.evaluate((element) => element.addEventListener("last-lamp-choice", ({ detail }) => (globalThis.choice = detail)));
    await lamp.getByRole("button", { name: "Choose this cable" }).click();
    const choice = await tab.evaluate(() => globalThis.choice.cables);
    // A group that goes leaves the cable and the tap of its run to the next one there.
    await lamp.locator("#run_3").selectOption("2");
    await lamp.locator("#kind").selectOption("dc-supply");
    await answered(lamp);
    const direct = await shape();
    await lamp.locator("#kind").selectOption("transformer");
    await lamp.locator("#run_3").selectOption("1");
    await answered(lamp);
    await lamp.locator("#count_2").fill("0");
    await lamp.locator("#count_2-error").waitFor({ state: "visible" });
    const refused = await lamp.locator("#count_2-error").innerText();
    await lamp.locator("#count_2").fill("2");
    await lamp.evaluate((element) => element.setAttribute("lang", "de"));
    await lamp.getByText("Leuchten C").first().waitFor();
    const german = await shape();
    await picture(tab, "groups-german");
    const found = await barriers(tab);
    await lamp.locator("#run_3").selectOption("2");
    await answered(lamp);
    await lamp.getByRole("button", { name: "B entfernen" }).click();
    await answered(lamp);
    const heir = await shape();
    await lamp.getByRole("button", { name: "B entfernen" }).click();
    await answered(lamp);
    return { alone, three, rows, names, proposal, used, direct, choice, refused, german, heir, back: await shape(), barriers: found, complaints: seen.complaints };
}

/** The snippet of the README, as it is written there but for the address and the hash. */
async function readme() {
    const text = await readFile(new URL("../../README.md", import.meta.url), "utf8");
    const snippet = /```html\n(<script type="module"[\s\S]*?)```/.exec(text)[1];
    const body = snippet.replaceAll("https://lamp.example", service).replace(/\s*integrity="[^"]*"/, "");
    const { lamp, seen } = await opened({ whole: `<!doctype html><html lang="en"><title>Shop</title><body>${body}</body></html>` });
    await answered(lamp);
    return { summary: await lamp.locator(".summary").innerText(), rows: await lamp.locator("tbody tr").count(), asked: seen.asked };
}

/** Nothing is said of the fixtures: there is something to see all the same, but not in a form, which would send it. */
async function beginning() {
    const plain = await opened({ attributes: { volts: "12" } });
    await answered(plain.lamp);
    const metric = await opened({ lang: "de", attributes: { count: "3" } });
    await answered(metric.lamp);
    const form = await opened({ inside: '<main><h1>Shop</h1><form><last-lamp name="run"></last-lamp></form></main>' });
    await form.lamp.locator(".status").filter({ hasText: "Enter the fixtures" }).waitFor();
    const line = async ({ lamp }) => {
        const [{ fixtures }] = (await settled(lamp)).request.wiring.runs;
        return [fixtures[0].count, fixtures[0].at];
    };
    return {
        plain: await line(plain),
        metric: await line(metric),
        form: await form.tab.evaluate(() => new FormData(document.forms[0]).get("run")),
        count: await form.lamp.locator("#count").inputValue(),
    };
}

/** Pages that stay with a version, each of those that were released. */
async function pinned() {
    const { versions } = await (await fetch(`${service}/embed/manifest.json`)).json();
    const shown = {};
    for (const { version } of versions) {
        const { lamp, seen } = await opened({ attributes: GARDEN, script: `${service}/embed/${version}/calculator.js` });
        await answered(lamp);
        await lamp.getByRole("button", { name: "Find what works" }).click();
        await lamp.locator(".proposal button").waitFor();
        shown[version] = { rows: await lamp.locator("tbody tr").count(), complaints: seen.complaints };
    }
    return shown;
}

/** The search ends before anything is found: said as that, and not as if there were nothing. */
async function ended() {
    const { lamp } = await opened({ attributes: GARDEN }, {
        before: (tab) =>
            tab.route("**/v1/gauge-recommendation", async (route) => {
                if (route.request().method() !== "POST") return route.continue();
                const question = { ...route.request().postDataJSON() };
                question.wiring.runs[0].fixtures[0].count = 200;
                const reply = await route.fetch({ postData: JSON.stringify(question) });
                const said = await reply.json();
                return route.fulfill({ response: reply, json: { ...said, status: "none-found" } });
            }),
    });
    await answered(lamp);
    await lamp.getByRole("button", { name: "Find what works" }).click();
    await lamp.locator(".proposal").waitFor();
    return { text: await lamp.locator(".proposal").innerText(), buttons: await lamp.locator(".proposal button").count() };
}

await reported([parents, schemes, phone, vue, react, proxies, handed, groups, readme, beginning, pinned, ended]);
