/**
 * Reads every page of the documentation in light and dark and on a phone, and searches it, and prints what was there as JSON.
 *
 * node guide_pages.mjs CHROMIUM ADDRESS [FOLDER]: with a folder, screenshots are left in it.
 */
import { address, barriers, browser, folder, opened } from "./docs_visits.mjs";

/** Every page that the first one leads to. */
async function everyPage(options, name) {
  const seen = { complaints: [], elsewhere: [], barriers: {}, widest: {} };
  const page = await opened("/docs", options, seen);
  const addresses = await page.locator("nav a").evaluateAll((links) => links.map((link) => link.getAttribute("href")));
  seen.pages = addresses.filter((each) => each !== "/docs/reference");
  for (const each of seen.pages) {
    await page.goto(address + each);
    await page.locator("#sought").waitFor();
    seen.barriers[each] = await barriers(page);
    seen.widest[each] = await page.evaluate(() => document.documentElement.scrollWidth);
    seen.torn = await page.locator("nav li").evaluateAll((all) => all.filter((each) => each.getClientRects().length > 1).length);
    if (folder) await page.screenshot({ path: `${folder}/guide-${name}-${each.replaceAll("/", "_")}.png` });
  }
  return seen;
}

/** What is found first for some words, without a network once the page is there. */
async function searched(words) {
  const seen = { complaints: [], elsewhere: [], found: {} };
  const page = await opened("/docs", {}, seen);
  await page.locator("#sought").waitFor();
  await page.waitForLoadState("networkidle");
  await page.context().setOffline(true);
  for (const each of words) {
    await page.locator("#sought").fill(each);
    await page.waitForTimeout(100);
    const first = page.locator(".found li a").first();
    seen.found[each] = (await first.count()) ? await first.getAttribute("href") : await page.locator("[role=status]").innerText();
  }
  await page.locator("#sought").fill("voltage");
  await page.locator(".found li").first().waitFor();
  seen.barriers = await barriers(page);
  if (folder) await page.screenshot({ path: `${folder}/guide-searched.png` });
  return seen;
}

async function withoutScript() {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${address}/docs/voltage-drop`);
  return { text: await page.locator("main").innerText(), fields: await page.locator("input").count() };
}

try {
  const sought = ["transformer size", "fuse", "too bright", "customer", "fixture_types", "wire size", "transformer sizing", "maximum run length", "bad splice", "drop-exceeds", "<script>", "zzz", "fixture-below-window"];
  const seen = {
    wide: await everyPage({}, "wide"),
    dark: await everyPage({ colorScheme: "dark" }, "dark"),
    middle: await everyPage({ viewport: { width: 768, height: 1024 } }, "middle"),
    narrow: await everyPage({ viewport: { width: 360, height: 740 }, hasTouch: true }, "narrow"),
    searched: await searched(sought),
    withoutScript: await withoutScript(),
  };
  console.log(JSON.stringify(seen, null, 2));
} finally {
  await browser.close();
}
