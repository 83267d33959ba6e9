/**
 * Somebody else's page, on an origin of its own: strict about scripts, and with a style sheet that spares nobody.
 */
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

export const [executablePath, service, port, folder] = process.argv.slice(2);
export const browser = await chromium.launch({ executablePath });
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What a shop's theme may do to every element of its page, by accident or not. */
const HOSTILE = `
  * { all: unset !important; font-family: fantasy !important; letter-spacing: 0.4em !important; text-transform: uppercase !important;
      color: red !important; line-height: 1 !important; text-align: right !important; visibility: hidden; }
  html { font-size: 62.5% !important; }
  input, select, button { display: none !important; }
`;

const POLICY =
    `default-src 'none'; script-src ${service}; connect-src ${service}; style-src 'self'; frame-src ${service};` +
    " require-trusted-types-for 'script'; trusted-types 'none'";

/** The garden of these tests: eight lamps of 5 W behind 150 VA. */
export const GARDEN = {
    units: "us",
    volts: "12",
    rating: "150",
    regulation: "5",
    cable: "14 AWG",
    count: "8",
    watts: "5",
    first: "25",
    spacing: "12",
};

const pages = new Map();
const files = new Map();
/** Pages that a framework builds: its files and their own come from the shop itself. */
const LOOSER = `default-src 'none'; script-src 'self' ${service}; connect-src ${service}; style-src 'self'`;

function markup({
    lang = "en",
    attributes = {},
    inside,
    script = `${service}/embed/v1/calculator.js`,
    integrity,
    hostile = false,
    style,
    head = "",
}) {
    const written = Object.entries(attributes)
        .map(([name, value]) => ` ${name}="${value}"`)
        .join("");
    const checked = integrity ? ` integrity="${integrity}" crossorigin="anonymous"` : "";
    const sheet = hostile ? "/hostile.css" : style && served("css", style);
    const dressed = sheet ? `<link rel="stylesheet" href="${sheet}">` : "";
    const body = inside ?? `<main><h1>Our garden shop</h1><last-lamp${written}></last-lamp></main>`;
    return `<!doctype html><html lang="${lang}"><head><meta charset="utf-8"><title>Shop</title>
    <meta name="viewport" content="width=device-width, initial-scale=1">${dressed}
    <script type="module" src="${script}"${checked}></script>${head}</head><body>${body}</body></html>`;
}

/** Puts a file beside the shop's pages; returns its address. */
export function served(ending, text) {
    const path = `/files/${files.size}.${ending}`;
    files.set(path, text);
    return path;
}

const server = createServer((request, reply) => {
    if (files.has(request.url)) {
        reply.setHeader("Content-Type", request.url.endsWith(".css") ? "text/css" : "text/javascript");
        reply.end(files.get(request.url));
    } else if (request.url === "/hostile.css") {
        reply.setHeader("Content-Type", "text/css");
        reply.end(HOSTILE);
    } else if (pages.has(request.url)) {
        reply.setHeader("Content-Type", "text/html; charset=utf-8");
        const { text, framework } = pages.get(request.url);
        reply.setHeader("Content-Security-Policy", framework ? LOOSER : POLICY);
        reply.end(text);
    } else {
        reply.statusCode = 204;
        reply.end();
    }
});
await new Promise((listening) => server.listen(Number(port), "127.0.0.1", listening));
export const host = `http://127.0.0.1:${port}`;

/** Opens a page of the shop in a fresh browser; `seen` collects what the browser complained of and whom it asked. */
export async function opened(page = {}, options = {}) {
    const path = `/${pages.size}`;
    pages.set(path, { text: page.whole ?? markup(page), framework: page.framework });
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
    const tab = await context.newPage();
    const seen = { complaints: [], elsewhere: [], asked: [] };
    tab.on(
        "console",
        (message) => ["error", "warning"].includes(message.type()) && seen.complaints.push(message.text()),
    );
    tab.on("pageerror", (error) => seen.complaints.push(String(error)));
    tab.on("request", (request) => {
        const { origin, pathname } = new URL(request.url());
        if (origin === service) seen.asked.push(pathname);
        else if (origin !== host) seen.elsewhere.push(request.url());
    });
    if (options.before) await options.before(tab);
    await tab.goto(host + path);
    return { tab, seen, context, lamp: tab.locator("last-lamp") };
}

/** Waits until the calculator has answered what stands in its inputs. */
export const answered = (lamp) =>
    lamp
        .locator(".summary")
        .waitFor({ state: "visible" })
        .then(() => settled(lamp));

export const settled = (lamp) =>
    lamp.evaluate(async (element) => {
        for (let tries = 0; tries < 200 && !element.answer; tries += 1)
            await new Promise((later) => setTimeout(later, 25));
        return element.answer;
    });

/** What a check of accessibility finds within a place; its script is put in from outside, past the policy of the page. */
export async function barriers(tab, place = "body") {
    await tab.evaluate(axe);
    const { violations } = await tab.evaluate((within) => globalThis.axe.run(within), place);
    return violations.map(
        ({ id, nodes }) =>
            `${id}: ${nodes
                .map(({ target }) => target.join(" "))
                .slice(0, 3)
                .join("; ")}`,
    );
}

export async function picture(tab, name) {
    if (folder) await tab.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
}

/** Runs every visit, one after another, and prints what each saw. */
export async function reported(visits) {
    try {
        const seen = {};
        for (const visit of visits) seen[visit.name] = await visit();
        console.log(JSON.stringify(seen, null, 2));
    } finally {
        await browser.close();
        server.close();
    }
}
