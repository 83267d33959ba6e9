/**
 * Visits the documentation page as a person would, and prints what was there to see as JSON.
 *
 * node docs_page.mjs CHROMIUM ADDRESS [FOLDER]: with a folder, screenshots are left in it.
 */
import { address, barriers, browser, folder, opened as openedAt } from "./docs_visits.mjs";

/** Opens the page that shows the contract, once it has read it. */
async function opened(options, seen) {
  const page = await openedAt("/docs/reference", options, seen);
  await page.waitForSelector("main:not([aria-busy])");
  return page;
}

async function picture(page, name, place) {
  if (place) await page.locator(place).evaluate((node) => node.scrollIntoView({ behavior: "instant" }));
  if (folder) await page.screenshot({ path: `${folder}/${name}.png` });
}

const MOST_STEPS = 500;
const TRIAL = 'section[aria-labelledby="voltage_drop"] .trial';

/** Changes the request of a trial, sends it, and reads what comes back. */
async function tried(page, operation, change = (text) => text) {
  const trial = page.locator(`section[aria-labelledby="${operation}"] .trial`);
  const body = trial.locator("textarea");
  if (await body.count()) await body.fill(change(await body.inputValue()));
  await trial.getByRole("button", { name: "Send" }).click();
  await page.waitForFunction((node) => !node.querySelector("button").disabled, await trial.elementHandle());
  return { status: await trial.locator(".status").innerText(), reply: await trial.locator(".reply").innerText() };
}

/** Goes through the page with the Tab key alone, one step past an element, and names what is reached. */
async function reachedByKeys(page, last) {
  const reached = [];
  while (reached.length < MOST_STEPS && !reached.at(-2)?.endsWith(` ${last}`)) {
    await page.keyboard.press("Tab");
    reached.push(await page.evaluate(() => {
      const { tagName, textContent, id } = document.activeElement;
      return `${tagName.toLowerCase()} ${id || textContent.trim().slice(0, 40)}`;
    }));
  }
  return reached;
}

const widest = (page) => page.evaluate(() => document.documentElement.scrollWidth);

async function visit() {
  const seen = { complaints: [], elsewhere: [] };
  const page = await opened({}, seen);
  seen.title = await page.title();
  seen.headings = await page.locator("h3").allInnerTexts();
  seen.broken = await page.evaluate(() =>
    [...document.querySelectorAll('a[href^="#"]')]
      .map((link) => link.getAttribute("href").slice(1))
      .filter((id) => !document.getElementById(id)),
  );
  seen.repeated = await page.evaluate(() => {
    const ids = [...document.querySelectorAll("[id]")].map(({ id }) => id);
    return ids.filter((id, index) => ids.indexOf(id) !== index);
  });
  await picture(page, "wide");
  seen.barriers = await barriers(page);
  seen.keys = await reachedByKeys(page, "try-voltage_drop-body");
  seen.solved = await tried(page, "voltage_drop");
  seen.complaintsBefore = [...seen.complaints];
  await picture(page, "wide-tried", TRIAL);
  const wrongUnits = (text) => text.replace('"unit": "V"', '"unit": "volts"').replace('"unit": "ft"', '"unit": "feet"');
  seen.refused = await tried(page, "voltage_drop", wrongUnits);
  await picture(page, "wide-refused", TRIAL);
  await picture(page, "wide-type", "#type-FixtureLine");
  seen.unreadable = await tried(page, "voltage_drop", () => "{");
  seen.catalogue = await tried(page, "units");
  seen.barriersAfter = await barriers(page, TRIAL);
  await page.reload();
  await page.waitForSelector("main:not([aria-busy])");
  seen.afterReload = await page.locator("h3").count();
  return seen;
}

async function narrow() {
  const seen = { complaints: [], elsewhere: [] };
  const page = await opened({ viewport: { width: 320, height: 640 }, hasTouch: true }, seen);
  await picture(page, "narrow");
  await tried(page, "voltage_drop");
  seen.widest = await widest(page);
  await picture(page, "narrow-tried", TRIAL);
  await picture(page, "narrow-type", "#type-FixtureLine");
  return seen;
}

async function dark() {
  const seen = { complaints: [], elsewhere: [] };
  const page = await opened({ colorScheme: "dark", reducedMotion: "reduce" }, seen);
  await tried(page, "voltage_drop");
  seen.barriers = await barriers(page, `nav, ${TRIAL}, section[aria-labelledby="voltage_drop"]`);
  seen.scrolling = await page.evaluate(() => getComputedStyle(document.documentElement).scrollBehavior);
  await picture(page, "dark-tried", TRIAL);
  return seen;
}

async function forced() {
  const seen = { complaints: [], elsewhere: [] };
  const page = await opened({ forcedColors: "active" }, seen);
  await tried(page, "voltage_drop", () => "{");
  await picture(page, "forced-refused", TRIAL);
  return seen;
}

async function withoutScript() {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${address}/docs/reference`);
  return { text: await page.locator("main").innerText() };
}

try {
  const seen = { visit: await visit(), narrow: await narrow(), dark: await dark(), forced: await forced() };
  console.log(JSON.stringify({ ...seen, withoutScript: await withoutScript() }, null, 2));
} finally {
  await browser.close();
}
