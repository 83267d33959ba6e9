/**
 * Ticks a job off with a meter, as somebody does in a garden, and prints what was there to see as JSON.
 *
 * node meter_visits.mjs CHROMIUM SERVICE PORT [FOLDER]: with a folder, screenshots are left in it.
 */
import { readFile } from "node:fs/promises";
import { barriers, browser, picture, reported, service } from "./embed_host.mjs";

const EXAMPLES = new URL("../../openapi/examples/", import.meta.url);
const example = async (name) => JSON.parse(await readFile(new URL(`${name}.json`, EXAMPLES), "utf8"));
const garden = await example("commissioning_sheet");
const steps = await example("readings_check");

const asked = async (study, body) => {
    const headers = { "Content-Type": "application/json" };
    return (await fetch(`${service}/v1/${study}`, { method: "POST", headers, body: JSON.stringify(body) })).json();
};

/** Opens the page in a fresh browser; `seen` collects complaints, and whom it asked besides the service. */
async function opened(options = {}, search = "", version = "v1") {
    const context = await browser.newContext({ viewport: { width: 360, height: 800 }, ...options });
    const tab = await context.newPage();
    const seen = { complaints: [], elsewhere: [], asked: [] };
    tab.on("console", (message) => ["error", "warning"].includes(message.type()) && seen.complaints.push(message.text()));
    tab.on("pageerror", (error) => seen.complaints.push(String(error)));
    tab.on("request", (request) => {
        const { origin, pathname } = new URL(request.url());
        (origin === service ? seen.asked : seen.elsewhere).push(pathname);
    });
    await tab.goto(`${service}/embed/${version}/meter${search}`);
    await tab.locator("h1").waitFor();
    return { context, tab, seen };
}

async function pasted(tab, said) {
    await tab.locator("#paste").fill(typeof said === "string" ? said : JSON.stringify(said));
    await tab.locator("form button").click();
}

const widest = (tab) => tab.evaluate(() => document.documentElement.scrollWidth);
const card = (tab, number) => tab.locator(".card").nth(number - 1);

/** Types into a card, and waits for what the service says of it. */
async function read(tab, number, text) {
    const reply = tab.waitForResponse((response) => response.url().endsWith("/v1/readings-check"));
    await card(tab, number).locator("input").fill(text);
    const at_once = await card(tab, number).getAttribute("class");
    await reply;
    await tab.waitForTimeout(50);
    return { at_once, state: await card(tab, number).getAttribute("class"), said: await card(tab, number).locator(".said").innerText() };
}

/** A job from a file; mains that were measured; readings that match and one that does not. */
async function walked() {
    const { tab, seen, context } = await opened();
    await tab.locator("#file").setInputFiles({ name: "job.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(garden)) });
    await card(tab, 1).waitFor();
    const heads = await tab.locator("h2").allInnerTexts();
    const cards = await tab.locator(".card").count();
    const range = await card(tab, 4).locator(".expected").innerText();
    await tab.locator("#mains").fill("118.5");
    await tab.locator("#mains").press("Tab");
    await tab.locator(".card .expected").nth(3).filter({ hasNotText: "114" }).waitFor();
    const sheet = await asked("commissioning-sheet", { ...garden, mains: [{ value: 118.5, unit: "V" }] });
    const places = sheet.stages.flatMap(({ test_points: points }) => points.map((point) => point.expected[0]));
    const exact = (number) => places[number - 1].value.value.toFixed(2);
    const exactly = await card(tab, 4).locator(".expected").innerText();
    const inputmode = await card(tab, 4).locator("input").getAttribute("inputmode");
    const good = await read(tab, 1, exact(1));
    const comma = await read(tab, 4, exact(4).replace(".", ","));
    const low = await read(tab, 6, (places[5].value.value - places[5].tolerance.value - 0.02).toFixed(2));
    const within = await read(tab, 6, (places[5].value.value - places[5].tolerance.value + 0.02).toFixed(2));
    const far = await read(tab, 6, "9");
    const progress = await tab.locator(".progress").innerText();
    const conclusion = await tab.locator(".conclusion").innerText();
    await card(tab, 7).locator("input").fill("12.3.4");
    const mistake = [await card(tab, 7).locator(".said").innerText(), await card(tab, 7).locator("input").getAttribute("aria-invalid")];
    await picture(tab, "meter-360-light");
    const found = await barriers(tab);
    const kept = await tab.evaluate(() => [document.cookie, localStorage.length, sessionStorage.length]);
    await tab.locator("#places").selectOption("every");
    await tab.locator(".card").nth(cards).waitFor();
    const every = await tab.locator(".card").count();
    const still = await tab.locator(".card input").evaluateAll((inputs) => inputs.filter(({ value }) => value).length);
    return { ...seen, heads, cards, every, still, range, exactly, inputmode, good, comma, low, within, far, progress, conclusion, mistake,
        kept, cookies: await context.cookies(), widest: await widest(tab), barriers: found };
}

/** A paste of another study's body: what goes together wrong is said with what to read next. */
async function checked() {
    const { tab, seen } = await opened();
    await pasted(tab, { ...steps, readings: [...steps.readings, { ...steps.readings[0], state: { on: "disconnected" } }] });
    await card(tab, 1).waitFor();
    await tab.locator(".card.fault").first().waitFor();
    const filled = await tab.locator(".card input").evaluateAll((inputs) => inputs.map(({ value }) => value).filter(Boolean));
    const left = await tab.locator(".error").innerText();
    const red = await tab.locator(".card.fault h3").allInnerTexts();
    const names = await tab.locator(".card h3").allInnerTexts();
    const columns = await card(tab, 1).locator(".expected").innerText();
    const last = names.length;
    const first = await read(tab, last - 1, "11.65");
    const second = await read(tab, last, "10.9");
    return { names, filled, left, red, columns, first, second, conclusion: await tab.locator(".conclusion").innerText(), complaints: seen.complaints };
}

/** The sheet alone, without its job: held to the column of the mains that were chosen, and nobody is asked. */
async function sheet() {
    const { tab, seen } = await opened();
    const said = await asked("commissioning-sheet", garden);
    await pasted(tab, said);
    await card(tab, 1).waitFor();
    const before = seen.asked.length;
    await card(tab, 1).locator("input").fill("12.6");
    const at120 = await card(tab, 1).getAttribute("class");
    await tab.locator("#column").selectOption("1");
    const at114 = [await card(tab, 1).getAttribute("class"), await card(tab, 1).locator(".said").innerText()];
    await tab.waitForTimeout(600);
    return { at120, at114, more: seen.asked.slice(before), conclusion: await tab.locator(".conclusion").innerText(), complaints: seen.complaints };
}

/** What is no job, and what the service refuses. */
async function mistakes() {
    const { tab } = await opened();
    const said = {};
    const texts = { none: "", json: "{", job: '{"supply": 1}', list: "[1, 2]", null: "null", torn: '{"mains": [], "stages": [{"number": 1}]}', short: '{"mains": [], "stages": [], "detail": "summary"}' };
    for (const [name, text] of Object.entries(texts)) {
        await pasted(tab, text);
        said[name] = await tab.locator(".error").innerText();
    }
    await pasted(tab, { ...garden, supply: { ...garden.supply, secondary: { value: 99999, unit: "V" } } });
    await tab.locator(".error [lang=en]").waitFor();
    said.refused = await tab.locator(".error").innerText();
    await tab.locator("#file").setInputFiles({ name: "big.json", mimeType: "application/json", buffer: Buffer.alloc(2_000_001, 32) });
    await tab.locator(".error").filter({ hasText: "too large" }).waitFor();
    return { said, barriers: await barriers(tab) };
}

/** Jobs that must not be built, though the meter shows just what they promise. */
async function failing() {
    const lamp = (at, power) => ({ at: { value: at, unit: "m" }, load: { kind: "constant-power", power: { value: power, unit: "W" } } });
    const run = (name, ...fixtures) => ({ name, cable: { kind: "listed", conductor: "2.5 mm2" }, fixtures });
    const supply = (volts, rating) => ({ kind: "dc-supply", output: { value: volts, unit: "V" }, rating: { value: rating, unit: "W" } });
    const plans = {
        sound: [supply(12, 100), [run("path", lamp(5, 5))]],
        "wrong supply": [supply(24, 100), [run("path", lamp(5, 5))]],
        overloaded: [supply(12, 10), [run("path", lamp(5, 5), lamp(6, 9))]],
        collapsed: [supply(12, 900), [run("near", lamp(5, 5)), run("far", lamp(300, 300))]],
    };
    const said = {};
    for (const [name, [of, runs]] of Object.entries(plans)) {
        const { tab, seen } = await opened({}, name === "wrong supply" ? "?lang=de" : "");
        await pasted(tab, { supply: of, wiring: { form: "runs", nominal_voltage: { value: 12, unit: "V" }, runs } });
        await card(tab, 1).waitFor();
        await tab.waitForLoadState("networkidle");
        const plan = await tab.locator("#plan").innerText();
        const values = await tab.locator(".card .expected").evaluateAll((all) => all.map((each) => parseFloat(each.textContent.replace(/^[^0-9]*/, "").replace(",", "."))));
        for (const [index, value] of values.entries()) await card(tab, index + 1).locator("input").fill(String(value + 0.02));
        await tab.waitForLoadState("networkidle");
        const states = await tab.locator(".card").evaluateAll((all) => all.map((each) => each.className));
        const never = await tab.locator(".never").allInnerTexts();
        await picture(tab, `meter-plan-${name}`);
        said[name] = { plan, states, never, instructions: await tab.locator(".instruction").count(), progress: await tab.locator(".progress .sign.good").count(), widest: await widest(tab), barriers: await barriers(tab), complaints: seen.complaints };
    }
    const { tab } = await opened();
    const averaged = { supply: { kind: "transformer", secondary: { value: 12, unit: "V" }, winding: { rating: { value: 60, unit: "VA" }, regulation_percent: 4 } },
        wiring: { form: "runs", runs: [run("path", { ...lamp(5, 5), load: { kind: "constant-power", power: { value: 5, unit: "W" }, apparent_power: { value: 8, unit: "VA" } } })] }, instrument: { kind: "averaging" } };
    await pasted(tab, averaged);
    await card(tab, 1).waitFor();
    said.averaged = await tab.locator(".card .expected").last().innerText();
    return said;
}

/** Names that look like markup stay text. */
async function markup() {
    const { tab, seen } = await opened();
    const job = structuredClone(garden);
    job.wiring.runs[0].name = "<img src=x onerror=alert(1)>";
    job.wiring.runs[0].fixtures[0].name = "<b>lamp</b>";
    await pasted(tab, job);
    await card(tab, 1).waitFor();
    return { elements: await tab.locator("main img, main b").count(), text: await tab.locator("h2").nth(1).innerText(), complaints: seen.complaints };
}

/** The service goes away, and comes back; a key is asked for. */
async function away() {
    const { tab } = await opened();
    await pasted(tab, garden);
    await card(tab, 1).waitFor();
    await tab.route("**/v1/readings-check", (route) => route.abort());
    await card(tab, 1).locator("input").fill("12.5");
    await tab.locator(".conclusion button").waitFor();
    const gone = [await tab.locator(".conclusion").innerText(), await card(tab, 1).locator(".said").innerText()];
    await tab.unroute("**/v1/readings-check");
    await tab.locator(".conclusion button").click();
    await card(tab, 1).locator(".said").filter({ hasText: "Matches" }).waitFor();
    await tab.route("**/v1/readings-check", (route) =>
        route.fulfill({
            status: 401,
            contentType: "application/problem+json",
            body: JSON.stringify({ code: "key-missing", status: 401, detail: "A key is needed." }),
        }),
    );
    await card(tab, 1).locator("input").fill("12.51");
    await tab.locator("#key").waitFor({ state: "visible" });
    await tab.unroute("**/v1/readings-check");
    await tab.locator("#key").fill("secret");
    const [request] = await Promise.all([tab.waitForRequest("**/v1/readings-check"), card(tab, 1).locator("input").fill("12.52")]);
    return { gone, key: (await request.allHeaders()).authorization };
}

/** A slow network: a reading that is typed while the sheet for other mains is on its way is judged by those mains. */
async function hurried() {
    const { tab } = await opened();
    await pasted(tab, garden);
    await card(tab, 1).waitFor();
    await tab.route("**/v1/commissioning-sheet", async (route) => {
        await new Promise((later) => setTimeout(later, 900));
        await route.continue().catch(() => null);
    });
    await tab.locator("#mains").fill("114");
    await card(tab, 1).locator("input").focus();
    await card(tab, 1).locator("input").fill("12.6");
    const meanwhile = [await card(tab, 1).getAttribute("class"), await card(tab, 1).locator(".said").innerText()];
    const [request] = await Promise.all([
        tab.waitForRequest("**/v1/readings-check"),
        card(tab, 1).locator(".said").filter({ hasText: "Too high" }).waitFor(),
    ]);
    await tab.locator("#mains").fill("99999");
    await card(tab, 1).locator("input").focus();
    await tab.locator(".error [lang=en]").waitFor();
    const refused = [await card(tab, 1).getAttribute("class"), await card(tab, 1).locator(".said").innerText()];
    await tab.locator("#mains").fill("mains");
    await card(tab, 1).locator("input").focus();
    const mistake = [await tab.locator(".error").innerText(), await tab.locator("#mains").getAttribute("aria-invalid")];
    return { meanwhile, mains: request.postDataJSON().readings[0].state.mains, refused, mistake };
}

/** Widths, light and dark, languages. */
async function looks() {
    const seen = {};
    for (const [width, colorScheme, lang] of [[360, "light", "en"], [360, "dark", "ar"], [320, "dark", "en"], [768, "dark", "de"], [1280, "light", "es"]]) {
        const { tab, context, seen: heard } = await opened({ viewport: { width, height: 900 }, colorScheme }, `?lang=${lang}`);
        const empty = await barriers(tab);
        await picture(tab, `meter-empty-${width}-${colorScheme}-${lang}`);
        await pasted(tab, garden);
        await card(tab, 1).waitFor();
        await read(tab, 1, "12,5");
        await read(tab, 4, "9.1");
        await picture(tab, `meter-${width}-${colorScheme}-${lang}`);
        const small = await tab.locator("input, select, button, textarea").evaluateAll((controls) =>
            controls.filter((control) => control.offsetParent && control.offsetHeight < 24).length);
        seen[`${width} ${colorScheme} ${lang}`] = { widest: await widest(tab), small, barriers: [...empty, ...(await barriers(tab))],
            dir: await tab.evaluate(() => document.documentElement.dir), progress: await tab.locator(".progress").innerText(), complaints: heard.complaints };
        await context.close();
    }
    return seen;
}

/** Words that English has and another language lacks. */
async function missing() {
    const { tab } = await opened();
    return tab.evaluate(async () => {
        const { ENGLISH } = await import("/embed/v1/meter.js");
        const keys = (part, path = "") =>
            typeof part === "string" ? [path] : Object.keys(part).flatMap((name) => keys(part[name], `${path}/${name}`));
        const lacking = {};
        for (const language of ["ar", "de", "es"]) {
            const words = await (await fetch(`/embed/v1/meter.${language}.json`)).json();
            lacking[language] = keys(ENGLISH).filter((key) => !keys(words).includes(key));
        }
        return lacking;
    });
}

await reported([walked, checked, sheet, mistakes, failing, markup, away, hurried, looks, missing]);
