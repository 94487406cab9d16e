// When the line to the assistant is down the page says so, over all, and finds back by itself.

import { compare } from "../pictures.mjs";
import { AMISS, bring, open, settle } from "../screens.mjs";
import { STATES } from "../states.mjs";

const lost = (page) => page.waitForFunction(() => document.body.dataset.link === "lost");
const words = (page) => page.evaluate(() => document.getElementById("lost").innerText.replace(/\s+/g, " ").trim().toLowerCase());

export default async function line({ browser, assistant, check }) {
  for (const screen of ["tablet", "phone-upright", "phone-wide"]) {
    const page = await open(browser, screen);
    await check(`a killed assistant is told on ${screen}, and its return`, async () => {
      await bring(page, assistant, STATES.gate);
      await assistant.kill();
      await lost(page);
      await settle(page);
      const faults = [compare(`not-connected-${screen}`, await page.screenshot(), AMISS)];
      const told = await words(page);
      if (told !== "not connected what you see may be old.") faults.push(`it says “${told}”`);
      const covered = await page.evaluate(() => {
        const { left, top, width } = document.getElementById("lost").getBoundingClientRect();
        return document.elementFromPoint(left + width / 2, top + 20)?.closest("#lost") !== null;
      });
      if (!covered) faults.push("the banner lies beneath something");
      await assistant.start();
      await bring(page, assistant, STATES.step);
      if ((await words(page)) !== "") faults.push("the banner is still there");
      return faults;
    });
    await page.context().close();
  }
  await check("an assistant that hangs is told too", async () => {
    const page = await open(browser, "tablet");
    await page.clock.install();
    await bring(page, assistant, STATES.gate);
    assistant.freeze();
    try {
      await page.clock.runFor(11_000);
      if ((await page.getAttribute("body", "data-link")) !== "live") return "it gave up before two ticks were missed";
      await page.clock.runFor(4_000);
      await lost(page);
    } finally {
      assistant.thaw();
    }
    await page.clock.runFor(10_000);
    await page.waitForFunction(() => document.body.dataset.link === "live");
    await page.context().close();
    return null;
  });
  await check("waits are counted by the assistant's clock", async () => {
    const page = await open(browser, "tablet");
    // A screen whose clock is a day behind.
    await page.clock.install({ time: Date.now() - 86_400_000 });
    await bring(page, assistant, { ...STATES["timers-off"], timers: [{ what: "threadlocker sets", ends_at_ms: Date.UTC(2026, 2, 4, 9, 40) }] });
    const text = await page.textContent("time");
    await page.context().close();
    return /^(10:0[0-3]|9:5[0-9])$/.test(text) ? null : `ten minutes from now are shown as ${text}`;
  });
}
