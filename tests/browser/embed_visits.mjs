/**
 * Uses the calculator on somebody else's page as people do, and prints what was there to see as JSON.
 *
 * node embed_visits.mjs CHROMIUM SERVICE PORT [FOLDER]: the page stands on PORT; with a folder, screenshots are left in it.
 */
import { GARDEN, answered, barriers, opened, picture, reported, service, settled } from "./embed_host.mjs";

const STOCK = [
    { id: "lv-16", conductor: "16 AWG" },
    { id: "lv-14", conductor: "14 AWG", name: "<img src=x onerror=alert(1)> & garden cable" },
    { id: "lv-12", conductor: "12 AWG", price: { kind: "per-length", amount: "0.74", per: "ft" } },
    { id: "T-60", rating: { value: 60, unit: "VA" }, regulation_percent: 6, taps: [{ value: 12, unit: "V" }] },
    {
        id: "T-300",
        name: "<b>three hundred</b>",
        rating: { value: 300, unit: "VA" },
        regulation_percent: 5,
        taps: [
            { value: 12, unit: "V" },
            { value: 13, unit: "V" },
            { value: 14, unit: "V" },
        ],
    },
];

/** The element that has the focus, down through shadow trees. */
const focused = (tab) =>
    tab.evaluate(() => {
        let at = document.activeElement;
        while (at.shadowRoot?.activeElement) at = at.shadowRoot.activeElement;
        return at.id || at.getAttribute("part") || at.tagName.toLowerCase();
    });

async function tabbedTo(tab, place) {
    const passed = [];
    while (passed.length < 60) {
        await tab.keyboard.press("Tab");
        passed.push(await focused(tab));
        if (passed.at(-1) === place) return passed;
    }
    throw new Error(`Tab never reached ${place}: ${passed.join(", ")}`);
}

/** A hostile page; the whole job, from the first number to the choice, with the keyboard alone. */
async function keyboard() {
    const { tab, seen, lamp, context } = await opened({ hostile: true });
    await lamp.evaluate((element, stock) => {
        element.stock = stock;
        element.setAttribute("currency", "USD");
        globalThis.told = [];
        for (const name of ["answer", "choice", "problem"]) {
            document.addEventListener(`last-lamp-${name}`, ({ detail }) => globalThis.told.push([name, detail]));
        }
    }, STOCK);
    await lamp.locator("#count").waitFor();
    const order = await tabbedTo(tab, "cable");
    await tab.keyboard.press("Home");
    for (const [name, text] of [
        ["count", "12"],
        ["watts", "7"],
        ["first", "40"],
        ["spacing", "10"],
    ]) {
        await tabbedTo(tab, name);
        await tab.keyboard.type(text);
    }
    await answered(lamp);
    const focusAfterAnswer = await focused(tab);
    const failing = await lamp.locator(".summary").innerText();
    const barriersFailing = await barriers(tab, "last-lamp");
    await picture(tab, "hostile-failing");
    await tabbedTo(tab, "button find");
    await tab.keyboard.press("Enter");
    await lamp.locator(".proposal button").waitFor();
    const proposal = await lamp.locator(".proposal").innerText();
    await picture(tab, "hostile-proposal");
    await tabbedTo(tab, "button use");
    await tab.keyboard.press("Enter");
    const focusAfterUse = await focused(tab);
    await answered(lamp);
    const working = await lamp.locator(".summary").innerText();
    await tab.keyboard.press("Enter");
    const told = await tab.evaluate(() => globalThis.told);
    const looks = await lamp.locator("#count").evaluate((input) => {
        const { fontSize, letterSpacing, textTransform, visibility, color } = getComputedStyle(input);
        return { fontSize, letterSpacing, textTransform, visibility, color };
    });
    const kept = await tab.evaluate(() => [document.cookie, localStorage.length, sessionStorage.length]);
    const injected = await lamp.evaluate(({ shadowRoot }) => shadowRoot.querySelectorAll("img, b").length);
    const options = await lamp.locator("#cable option").allTextContents();
    return {
        ...seen,
        order,
        focusAfterAnswer,
        failing,
        barriersFailing,
        proposal,
        focusAfterUse,
        working,
        looks,
        kept,
        injected,
        options,
        cookies: await context.cookies(),
        choice: told.findLast(([name]) => name === "choice")[1],
        barriers: await barriers(tab, "last-lamp"),
    };
}

/** Every look: widths, light and dark, and what nothing must stick out of. */
async function looks() {
    const seen = {};
    for (const width of [320, 768, 1280]) {
        for (const colorScheme of ["light", "dark"]) {
            const { tab, lamp, context } = await opened(
                { attributes: GARDEN },
                { viewport: { width, height: 900 }, colorScheme },
            );
            await answered(lamp);
            await lamp.locator("details > summary").first().click();
            await lamp.getByRole("button", { name: "Find what works" }).click();
            await lamp.locator(".proposal button").waitFor();
            seen[`${width} ${colorScheme}`] = {
                widest: await tab.evaluate(() => document.documentElement.scrollWidth),
                barriers: await barriers(tab),
            };
            await picture(tab, `look-${width}-${colorScheme}`);
            await context.close();
        }
    }
    return seen;
}

/** Twice as large, forced colours, little motion, a finger. */
async function needs() {
    const { tab, lamp } = await opened(
        { attributes: { ...GARDEN, cable: "12 AWG", count: "14" } },
        {
            viewport: { width: 640, height: 400 },
            deviceScaleFactor: 2,
            forcedColors: "active",
            reducedMotion: "reduce",
        },
    );
    await answered(lamp);
    await picture(tab, "forced-zoomed");
    const small = await lamp.evaluate(({ shadowRoot }) =>
        [...shadowRoot.querySelectorAll("input, select, button, summary")]
            .filter((control) => control.offsetParent && (control.offsetHeight < 24 || control.offsetWidth < 24))
            .map((control) => control.id || control.textContent),
    );
    const moving = await lamp.evaluate(({ shadowRoot }) => shadowRoot.getAnimations().length);
    return { widest: await tab.evaluate(() => document.documentElement.scrollWidth), small, moving };
}

/** Languages: words, numbers, direction. */
async function languages() {
    const seen = {};
    for (const lang of ["de-DE", "es", "ar", "fr"]) {
        const { tab, lamp, context } = await opened({
            lang,
            attributes: { ...GARDEN, units: "metric", cable: "1.5 mm2", first: "7.5", spacing: "3.2" },
        });
        await answered(lamp);
        const root = lamp.locator(".root");
        seen[lang] = {
            lang: await root.getAttribute("lang"),
            dir: await root.getAttribute("dir"),
            first: await lamp.locator("#first").inputValue(),
            summary: await lamp.locator(".summary").innerText(),
            // A note on devices that are not stated is younger than the calculator, and stands in English.
            english: await lamp
                .locator(".findings [lang=en]")
                .filter({ hasNotText: "No overcurrent device is stated" })
                .count(),
            foreign: await lamp.locator(".findings [lang=en]").count(),
            barriers: await barriers(tab),
        };
        await picture(tab, `language-${lang}`);
        await context.close();
    }
    return seen;
}

/** Numbers as people write them, in two locales. */
async function numbers() {
    const seen = {};
    for (const lang of ["en-US", "de-DE"]) {
        const { lamp, context } = await opened({ lang, attributes: GARDEN });
        await answered(lamp);
        seen[lang] = {};
        for (const text of ["12.5", "12,5", "1,500", "1.500", "0,500", "1 500", "1.500,5", "five", "-3", ".5"]) {
            await lamp.locator("#first").fill(text);
            await lamp.evaluate(() => new Promise((later) => setTimeout(later, 400)));
            const complaint = lamp.locator("#first-error");
            const refused = await complaint.isVisible();
            seen[lang][text] = refused
                ? await complaint.innerText()
                : (await settled(lamp)).request.wiring.runs[0].fixtures[0].at.value;
        }
        await context.close();
    }
    return seen;
}

/** The other unit: the same lengths, other cables, and what was typed is not lost. */
async function units() {
    const { tab, lamp } = await opened({ attributes: GARDEN });
    await answered(lamp);
    await lamp.locator("#units").selectOption("metric");
    const metric = await settled(lamp);
    await lamp.locator("#watts").focus();
    await lamp.evaluate((element) => element.setAttribute("lang", "de"));
    await lamp.getByText("Was jede Leuchte bekommt").waitFor();
    const german = await settled(lamp);
    return { metric: metric.request, german: german.request, focused: await focused(tab) };
}

/** A form of the page: the calculator is one of its fields. */
async function form() {
    const inside = `<main><h1>Shop</h1><form><label>Note <input name="note"></label><fieldset id="all">
    <last-lamp name="run" ${Object.entries(GARDEN)
        .map(([name, value]) => `${name}="${value}"`)
        .join(" ")}></last-lamp></fieldset></form></main>`;
    const { tab, lamp } = await opened({ inside });
    await answered(lamp);
    const value = () => tab.evaluate(() => new FormData(document.forms[0]).get("run"));
    const valid = () =>
        lamp.evaluate((element) => [
            element.validity.valid,
            element.validationMessage,
            element.form === document.forms[0],
        ]);
    const filled = { value: JSON.parse(await value()), valid: await valid() };
    await lamp.locator("#count").fill("1,500");
    const doubtful = { value: await value(), valid: await valid() };
    await lamp.evaluate(() => new Promise((later) => setTimeout(later, 500)));
    const refused = {
        value: await value(),
        valid: await valid(),
        submits: await tab.evaluate(() => document.forms[0].checkValidity()),
    };
    await tab.evaluate(() => document.forms[0].reset());
    await lamp.evaluate(() => new Promise((later) => setTimeout(later, 100)));
    await answered(lamp);
    const reset = JSON.parse(await value());
    await tab.evaluate(() => (document.getElementById("all").disabled = true));
    return { filled, doubtful, refused, reset, disabled: await lamp.locator("#count").isDisabled(), service };
}

/** What becomes of each input in the request. */
async function jobs() {
    const inputs = {
        direct: { kind: "dc-supply", volts: "24", rating: "100" },
        halogen: { lamp: "halogen" },
        single: { count: "1", spacing: "" },
        labelled: { "volt-amperes": "7.5", lowest: "9", highest: "15", "maximum-drop": "8" },
        measured: { measured: "12.6", mains: "rated", tap: "13" },
        tapped: { taps: "12 13 14", tap: "14" },
        metric: { units: "metric", cable: "2.5 mm2" },
    };
    const seen = {};
    for (const [name, attributes] of Object.entries(inputs)) {
        const { lamp, context } = await opened({ attributes: { ...GARDEN, ...attributes } });
        await answered(lamp);
        seen[name] = (await settled(lamp)).request;
        await context.close();
    }
    return seen;
}

/** The keys of a browser: shown to the service, and to nobody else. */
async function keyed() {
    const { tab, lamp } = await opened({ attributes: { ...GARDEN, key: "lastlamp_browser_x" } });
    await answered(lamp);
    const [asked] = await Promise.all([tab.waitForRequest("**/v1/voltage-drop"), lamp.locator("#count").fill("7")]);
    return { authorization: (await asked.allHeaders()).authorization, url: asked.url().replace(service, "") };
}

/** What the page picks of its stock by attributes, though the stock comes later. */
async function stocked() {
    const { lamp } = await opened({ attributes: { ...GARDEN, cable: "lv-12", transformer: "T-300", tap: "13" } });
    await answered(lamp);
    await lamp.evaluate((element, stock) => (element.stock = stock), STOCK);
    await lamp.locator("#transformer").waitFor();
    const { supply, wiring } = (await settled(lamp)).request;
    return { supply, conductor: wiring.runs[0].cable.conductor, hidden: await lamp.locator("#rating").isHidden() };
}

/** A run that collapses at low mains only: what is shown is never better than what any state gives. */
async function collapsing() {
    const { lamp } = await opened({ attributes: { ...GARDEN, count: "14" } });
    await answered(lamp);
    const { reply } = await settled(lamp);
    return {
        status: reply.status,
        collapsed: reply.envelope.collapsed.length,
        lowest: Math.min(...reply.fixtures.map(({ voltage }) => voltage.value)),
        range: await lamp.locator(".range").innerText(),
        caption: await lamp.locator("figcaption").innerText(),
    };
}

/** Several runs, one lamp of which fails: its volts in the sentence and in its row, and how often the fault is said. */
async function failing() {
    const { tab, lamp } = await opened({ attributes: { ...GARDEN, runs: "", mains: "rated" } });
    await lamp.evaluate((element) => {
        element.groups = [
            { run: 1, count: 3, watts: 5, first: 25, spacing: 12 },
            { run: 2, count: 1, watts: 60, first: 150 },
        ];
    });
    await answered(lamp);
    const { reply } = await settled(lamp);
    await picture(tab, "failing-two-runs");
    return {
        summary: await lamp.locator(".summary").innerText(),
        row: await lamp.locator("tbody tr").last().innerText(),
        findings: await lamp.locator(".findings").innerText(),
        volts: reply.fixtures.at(-1).voltage.value,
    };
}

/** Lamps for 24 V behind taps of 12 V, over a range of mains: the lowest in the sentence, in the range and in its row. */
async function ranging() {
    const { lamp } = await opened({ attributes: { ...GARDEN, volts: "24", taps: "12 13 14", count: "6", cable: "10 AWG" } });
    await answered(lamp);
    const { reply } = await settled(lamp);
    return {
        lowest: reply.summary.weakest.voltage.value,
        summary: await lamp.locator(".summary").innerText(),
        range: await lamp.locator(".range").innerText(),
        row: await lamp.locator("tbody tr").last().innerText(),
    };
}

/** Words that English has and another language lacks. */
async function missing() {
    const { tab, lamp } = await opened({ lang: "de", attributes: GARDEN });
    await answered(lamp);
    return tab.evaluate(async (origin) => {
        const { ENGLISH } = await import(`${origin}/embed/v1/calculator.js`);
        const keys = (part, path = "") =>
            typeof part === "string"
                ? [path]
                : Object.keys(part).flatMap((name) => keys(part[name], `${path}/${name}`));
        const lacking = {};
        for (const language of ["ar", "de", "es"]) {
            const words = await (await fetch(`${origin}/embed/v1/words.${language}.json`)).json();
            lacking[language] = keys(ENGLISH).filter((key) => !keys(words).includes(key));
        }
        return lacking;
    }, service);
}

await reported([keyboard, looks, needs, languages, numbers, units, form, jobs, keyed, stocked, collapsing, failing, ranging, missing]);
