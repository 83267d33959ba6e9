/**
 * Opens the pages that a shop built with the package, and prints what became of the calculator there as JSON.
 *
 * node element_package.mjs CHROMIUM SERVICE PORT "" SHOP: the page stands on PORT; SHOP has its scripts.
 */
import { readFile } from "node:fs/promises";
import { answered, opened, reported, served, service, settled } from "./embed_host.mjs";

const shop = process.argv[6];

async function shown(name) {
    const text = await readFile(`${shop}/out/${name}.js`, "utf8");
    const script = served("js", text.replaceAll("https://lamp.example", service));
    const whole = `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Shop</title>
      <script type="module" src="${script}"></script></head><body><main id="app"></main></body></html>`;
    const page = await opened({ framework: true, whole });
    await answered(page.lamp);
    return page;
}

const told = async ({ lamp, seen }) => ({
    summary: await lamp.locator(".summary").innerText(),
    paper: await lamp.locator(".root").evaluate((root) => getComputedStyle(root).backgroundColor),
    asked: [...new Set(seen.asked)],
    elsewhere: seen.elsewhere,
    complaints: seen.complaints,
});

/** A framework's page: what it hands over is taken, and what is chosen comes back. */
async function built(name) {
    const page = await shown(name);
    const { request } = await settled(page.lamp);
    await page.lamp.locator("[part~=choose]").click();
    const chosen = page.tab.locator("p", { hasText: "Chosen: lv-12" });
    await chosen.waitFor();
    return { ...(await told(page)), rating: request.supply.winding.rating.value, chosen: await chosen.innerText() };
}

const vue = () => built("with-vue");
const react = () => built("with-react");

/** Without a framework, in another language. */
async function alone() {
    return told(await shown("alone"));
}

await reported([vue, react, alone]);
