/**
 * Gives the calculator on somebody else's page a hard time, and prints what it made of that as JSON.
 *
 * node embed_trouble.mjs CHROMIUM SERVICE PORT [FOLDER]: the page stands on PORT; with a folder, screenshots are left in it.
 */
import {
    GARDEN,
    answered,
    barriers,
    browser,
    host,
    opened,
    picture,
    reported,
    service,
    settled,
} from "./embed_host.mjs";

const pause = (tab, time) => tab.evaluate((ms) => new Promise((later) => setTimeout(later, ms)), time);
const DROP = "**/v1/voltage-drop";

/** What the service refuses stands at the inputs that it is about. */
async function refusals() {
    const { tab, lamp } = await opened({
        lang: "de",
        attributes: { ...GARDEN, count: "10001", watts: "200000", tap: "99", rating: "0.01" },
    });
    const errors = {};
    await lamp.locator("#count-error").waitFor({ state: "visible" });
    for (const name of ["count", "watts", "tap", "rating", "first"]) {
        const error = lamp.locator(`#${name}-error`);
        errors[name] = (await error.isVisible()) ? await error.innerText() : null;
    }
    const said = await lamp
        .locator("#count")
        .evaluate((input) => [input.getAttribute("aria-invalid"), input.getAttribute("aria-describedby")]);
    await picture(tab, "refused");
    return {
        errors,
        said,
        status: await lamp.locator(".status").innerText(),
        shown: await lamp.locator(".summary").isVisible(),
        barriers: await barriers(tab),
    };
}

/** A mistake in a folded part unfolds it. */
async function folded() {
    const { lamp } = await opened({ attributes: { ...GARDEN, "power-factor": "7" } });
    await lamp.locator("#power_factor-error").waitFor({ state: "visible" });
    return {
        error: await lamp.locator("#power_factor-error").innerText(),
        open: await lamp.locator("details", { has: tab("power_factor") }).evaluate((fold) => fold.open),
    };
}
const tab = (id) => browser.contexts().at(-1).pages()[0].locator(`#${id}`);

/** Nobody answers; then somebody who is busy; then the service is back. */
async function away() {
    const { tab: page, lamp } = await opened({ attributes: GARDEN });
    await answered(lamp);
    await page.route(DROP, (route) => route.abort("connectionrefused"));
    await lamp.locator("#count").fill("9");
    await lamp.locator(".away").waitFor({ state: "visible" });
    const gone = {
        text: await lamp.locator(".away p").innerText(),
        count: await lamp.locator("#count").inputValue(),
        barriers: await barriers(page),
    };
    await picture(page, "away");
    await page.unroute(DROP);
    const headers = {
        "Access-Control-Allow-Origin": host,
        "Access-Control-Expose-Headers": "Retry-After",
        "Retry-After": "7",
    };
    await page.route(DROP, (route) =>
        route.fulfill({ status: 503, headers, contentType: "application/problem+json", body: "{}" }),
    );
    await lamp.getByRole("button", { name: "Try again" }).click();
    await lamp.getByText("7 seconds").first().waitFor();
    const busy = await lamp.locator(".away p").innerText();
    await page.unroute(DROP);
    await lamp.getByRole("button", { name: "Try again" }).click();
    await answered(lamp);
    const back = (await settled(lamp)).request.wiring.runs[0].fixtures[0].count;
    return { gone, busy, back, hidden: !(await lamp.locator(".away").isVisible()) };
}

/** A slow network: the newest question wins, the older ones are given up, and one thing is said in the end. */
async function slow() {
    const { tab: page, lamp } = await opened({ attributes: GARDEN });
    await answered(lamp);
    await pause(page, 1000);
    await page.route(DROP, async (route) => {
        await new Promise((later) => setTimeout(later, 1500));
        await route.continue().catch(() => null);
    });
    const failed = [];
    page.on("requestfailed", (request) => failed.push(request.failure().errorText));
    await lamp.evaluate(({ shadowRoot }) => {
        globalThis.said = [];
        const live = shadowRoot.querySelector("[aria-live]");
        new MutationObserver(() => globalThis.said.push(live.textContent)).observe(live, {
            childList: true,
            characterData: true,
            subtree: true,
        });
    });
    for (const count of ["1", "12", "123"]) {
        await lamp.locator("#count").fill(count);
        await pause(page, count === "12" ? 700 : 100);
    }
    await lamp.getByText("Calculating…").waitFor();
    const answer = await settled(lamp);
    await pause(page, 1200);
    return {
        failed,
        count: answer.request.wiring.runs[0].fixtures[0].count,
        said: await page.evaluate(() => globalThis.said),
    };
}

/** Two hundred fixtures: how long the page was held up. */
async function many() {
    const { tab: page, lamp } = await opened(
        {
            attributes: {
                ...GARDEN,
                volts: "24",
                rating: "600",
                cable: "4 AWG",
                watts: "1.5",
                first: "10",
                spacing: "4",
                count: "200",
            },
        },
        {
            before: (tab_) =>
                tab_.addInitScript(() => {
                    globalThis.long = [];
                    new PerformanceObserver((list) =>
                        globalThis.long.push(...list.getEntries().map(({ duration }) => duration)),
                    ).observe({ type: "longtask", buffered: true });
                }),
        },
    );
    await answered(lamp);
    await pause(page, 500);
    await page.evaluate(() => (globalThis.long = []));
    await lamp.locator("#watts").fill("1.6");
    await pause(page, 400);
    await settled(lamp);
    await pause(page, 800);
    await picture(page, "many");
    return {
        long: await page.evaluate(() => globalThis.long),
        rows: await lamp.locator("tbody tr").count(),
        marks: await lamp.locator(".mark").count(),
        barriers: await barriers(page),
    };
}

/** A service of tomorrow, and one that is not what it seems: what is not known is said in its English, as text. */
async function tomorrow() {
    const {
        tab: page,
        lamp,
        seen,
    } = await opened(
        { lang: "de", attributes: GARDEN },
        {
            before: (tab_) =>
                tab_.route(DROP, async (route) => {
                    if (route.request().method() !== "POST") return route.continue();
                    const reply = await route.fetch();
                    const said = await reply.json();
                    const message = "Moths <img src=x onerror=alert(1)> gather at the lamp.";
                    said.findings.push({
                        code: "moths",
                        severity: "remark",
                        subject: { pointer: "/moon" },
                        parameters: [],
                        message,
                        source: "x",
                    });
                    said.fixtures[0].verdict = "flickering";
                    said.assumptions.push({ code: "new-moon", message: "The moon is new." });
                    return route.fulfill({ response: reply, json: said });
                }),
        },
    );
    await answered(lamp);
    // Beside it stands a note that is younger than the calculator, in English as well.
    const moths = lamp.locator(".findings [lang=en]").filter({ hasText: "Moths" });
    return {
        text: await moths.innerText(),
        images: await lamp.evaluate(({ shadowRoot }) => shadowRoot.querySelectorAll("img").length),
        moon: await lamp.getByText("The moon is new.").count(),
        state: await lamp.locator("tbody tr td").nth(2).innerText(),
        complaints: seen.complaints,
        barriers: await barriers(page),
    };
}

/** The hash of a full version is asked for: the true one runs, another does not. */
async function integrity() {
    const manifest = await (await fetch(`${service}/embed/manifest.json`)).json();
    const file = manifest.versions.at(-1).files.find(({ path }) => path.endsWith("/calculator.js"));
    const page = { attributes: GARDEN, script: service + file.path };
    const good = await opened({ ...page, integrity: file.integrity });
    await answered(good.lamp);
    const bad = await opened({ ...page, integrity: file.integrity.replace(/.{6}$/, "AAAAAA") });
    await pause(bad.tab, 700);
    return {
        good: good.seen.complaints,
        asked: good.seen.asked,
        defined: await bad.tab.evaluate(() => Boolean(customElements.get("last-lamp"))),
    };
}

/** The page for frames, in a frame. */
async function framed() {
    const address = `${service}/embed/frame?lang=de&units=metric&volts=12&cable=2.5%20mm2&count=6&watts=4&first=5&spacing=3&service=https://evil.example&host=${host}`;
    const inside = `<main><h1>Shop</h1><iframe title="Rechner" width="900" height="1200" src="${address.replaceAll("&", "&amp;")}"></iframe></main>`;
    const { tab: page, seen } = await opened({ inside });
    await page.evaluate(() => {
        globalThis.told = [];
        addEventListener("message", ({ data, origin }) => globalThis.told.push([data.type, origin, data.detail]));
    });
    const lamp = page.frameLocator("iframe").locator("last-lamp");
    await lamp.locator(".summary").waitFor();
    await settled(lamp);
    await lamp.getByRole("button", { name: "Dieses Kabel" }).click();
    await pause(page, 300);
    const told = await page.evaluate(() => globalThis.told);
    const frame = page.frames()[1];
    return {
        told: told.map(([type, origin]) => [type, origin === new URL(frame.url()).origin]),
        choice: told.find(([type]) => type === "last-lamp-choice")?.[2].cable,
        lang: await frame.evaluate(() => document.documentElement.lang),
        elsewhere: seen.elsewhere,
        complaints: seen.complaints,
    };
}

/** The service's own front page. */
async function landing() {
    const context = await browser.newContext({ viewport: { width: 320, height: 800 } });
    const page = await context.newPage();
    const complaints = [];
    page.on("console", (message) => ["error", "warning"].includes(message.type()) && complaints.push(message.text()));
    await page.goto(`${service}/`);
    await answered(page.locator("last-lamp"));
    await picture(page, "landing-320");
    const widest = await page.evaluate(() => document.documentElement.scrollWidth);
    await page.setViewportSize({ width: 1280, height: 900 });
    await picture(page, "landing-1280");
    const plain = await (await browser.newContext({ javaScriptEnabled: false })).newPage();
    await plain.goto(`${service}/`);
    return { complaints, widest, barriers: await barriers(page), without: await plain.locator("main").innerText() };
}

/** The page that writes what a shop pastes. */
async function configured() {
    const context = await browser.newContext({ viewport: { width: 320, height: 800 } });
    const page = await context.newPage();
    const complaints = [];
    page.on("console", (message) => ["error", "warning"].includes(message.type()) && complaints.push(message.text()));
    await page.goto(`${service}/embed/configure`);
    await page.locator("[name=lang]").selectOption("es");
    await page.locator("[name=taps]").fill('12 "13');
    await page.locator("[name=watts]").fill("4");
    await page.locator("last-lamp").getByText("Lo que recibe cada luminaria").waitFor();
    const snippet = await page.locator("#snippet").innerText();
    const widest = await page.evaluate(() => document.documentElement.scrollWidth);
    await picture(page, "configure-320");
    return {
        snippet,
        widest,
        complaints,
        barriers: await barriers(page),
        policy: await page.locator("#policy").innerText(),
        origin: await page.locator("#origin").innerText(),
        service,
    };
}

/** A calculator that is moved within the page, taken out, and put back: one answer, no trouble. */
async function moved() {
    const { tab: page, lamp, seen } = await opened({ attributes: GARDEN });
    await answered(lamp);
    await lamp.locator("#count").fill("5");
    await page.evaluate(() => {
        const element = document.querySelector("last-lamp");
        element.remove();
        document.querySelector("main").prepend(element);
    });
    await answered(lamp);
    return {
        count: (await settled(lamp)).request.wiring.runs[0].fixtures[0].count,
        forms: await lamp.locator(".form").count(),
        complaints: seen.complaints,
    };
}

/** The style sheet and the words do not come: plain and in English, but there. */
async function bare() {
    const { lamp, seen } = await opened(
        { lang: "de", attributes: GARDEN },
        {
            before: async (tab_) => {
                await tab_.route("**/calculator.css", (route) => route.abort());
                await tab_.route(
                    "**/words.de.json",
                    (route) => new Promise((later) => setTimeout(() => later(route.abort()), 5000)),
                );
            },
        },
    );
    await answered(lamp);
    return { summary: await lamp.locator(".summary").innerText(), elsewhere: seen.elsewhere };
}

await reported([refusals, folded, away, slow, many, tomorrow, integrity, framed, landing, configured, moved, bare]);
