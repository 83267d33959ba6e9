/** Visits the shop of the how-to as a customer: node howto_shop.mjs CHROMIUM ADDRESS; prints what was seen as JSON. */
import { chromium } from "playwright-core";

const [executablePath, address] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath });
try {
    const tab = await browser.newPage();
    const complaints = [];
    tab.on("pageerror", (error) => complaints.push(String(error)));
    await tab.goto(address);
    const lamp = tab.locator("last-lamp");
    await lamp.locator(".summary").waitFor();
    await lamp.locator("[part~=choose]").click();
    const line = tab.locator("#cart li").first();
    await line.waitFor();
    const summary = await lamp.locator(".summary").innerText();
    console.log(JSON.stringify({ summary, cart: await line.innerText(), complaints }));
} finally {
    await browser.close();
}
