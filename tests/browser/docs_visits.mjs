/**
 * What visits to the pages of the documentation share: a browser, what a page complains of, and what is in the way of who reads it.
 *
 * node SCRIPT CHROMIUM ADDRESS [FOLDER]
 */
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const [executablePath, at, pictures] = process.argv.slice(2);
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

export const address = at;
export const folder = pictures;
export const browser = await chromium.launch({ executablePath });

/** Opens a page with a browser of its own and notes what it complains of and whom it asks. */
export async function opened(place, options, seen) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) seen.complaints.push(message.text());
  });
  page.on("pageerror", (error) => seen.complaints.push(String(error)));
  page.on("request", (request) => {
    const asked = new URL(request.url());
    if (asked.origin !== new URL(address).origin && asked.protocol !== "data:") seen.elsewhere.push(request.url());
  });
  await page.goto(`${address}${place}`);
  return page;
}

/** What a check of accessibility finds; its script is put in from outside, past the policy of the page. */
export async function barriers(page, place = "body") {
  await page.evaluate(axe);
  const { violations } = await page.evaluate((within) => globalThis.axe.run(within), place);
  const places = (nodes) => nodes.map(({ target }) => target.join(" ")).slice(0, 3);
  return violations.map(({ id, nodes }) => `${id}: ${places(nodes).join("; ")}`);
}
