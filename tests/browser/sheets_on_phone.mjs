/**
 * Reads printed sheets on a phone, and prints what was there as JSON.
 *
 * node sheets_on_phone.mjs CHROMIUM FOLDER: every .html file of the folder is read, and a .png left beside it.
 */
import { readFile, readdir } from "node:fs/promises";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [executablePath, folder] = process.argv.slice(2);
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium.launch({ executablePath });

/** What sticks out, is scrolled sideways, is one syllable wide, has no label, is too small or covers other words. */
function looked() {
  const shown = (node) => node.getClientRects().length > 0;
  const cells = [...document.querySelectorAll("td, tbody th")].filter(shown);
  const words = [...document.querySelectorAll("svg text")].filter(shown);
  const boxes = (svg) => [...svg.querySelectorAll("text")].filter(shown).map((node) => [node.textContent, node.getBoundingClientRect()]);
  const covers = ([, a], [, b]) =>
    Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.25 * Math.min(a.height, b.height);
  return {
    widest: document.documentElement.scrollWidth,
    scrolled: [...document.querySelectorAll("body *")]
      .filter((node) => !node.closest("svg, thead") && getComputedStyle(node).overflowX !== "visible" && node.scrollWidth > node.clientWidth + 1)
      .map((node) => `${node.tagName}.${node.className}`),
    thin: cells.filter((node) => node.textContent.trim().length > 8 && node.getBoundingClientRect().width < 60).map((node) => node.textContent),
    unlabelled: [...document.querySelectorAll(".wide td")].filter((node) => !node.dataset.label).map((node) => node.textContent),
    toWriteIn: [...document.querySelectorAll('.roomy td[data-label="Read"]')].filter(shown).length,
    smallest: Math.min(...words.map((node) => node.getBoundingClientRect().height)),
    covering: [...document.querySelectorAll("svg")].filter(shown).flatMap((svg) => {
      const all = boxes(svg);
      return all.flatMap((one, at) => all.slice(at + 1).filter((other) => covers(one, other)).map((other) => `${one[0]} × ${other[0]}`));
    }),
  };
}

try {
  const seen = {};
  for (const name of (await readdir(folder)).filter((each) => each.endsWith(".html"))) {
    const context = await browser.newContext({ viewport: { width: 360, height: 740 } });
    const page = await context.newPage();
    await page.goto(String(pathToFileURL(`${folder}/${name}`)));
    seen[name] = await page.evaluate(looked);
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => globalThis.axe.run());
    seen[name].barriers = violations.map(({ id, nodes }) => `${id}: ${nodes[0].target.join(" ")}`);
    await page.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
    await context.close();
  }
  console.log(JSON.stringify(seen, null, 2));
} finally {
  await browser.close();
}
