// Each state on each screen: like its kept picture, nothing cut off, nothing amiss for those who see or hear it otherwise.

import { readFileSync } from "node:fs";
import { AXE } from "../parts.mjs";
import { compare } from "../pictures.mjs";
import { AMISS, SCREENS, bring, open } from "../screens.mjs";
import { layoutFaults } from "../seen.mjs";
import { EXTREMES, STATES } from "../states.mjs";

/** WCAG 2.2, A and AA, as axe-core checks it. */
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/** What axe-core finds, as sentences. */
export async function accessibilityFaults(page) {
  // Over the debugging line: the page's own policy lets no script in that isn't its own.
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(readFileSync(AXE, "utf8"));
  const { violations } = await page.evaluate((tags) => globalThis.axe.run(document, { runOnly: { type: "tag", values: tags } }), RULES);
  return violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes.map(({ html }) => html.slice(0, 120)).join(" | ")}`);
}

export default async function looks({ browser, assistant, check }) {
  for (const screen of Object.keys(SCREENS)) {
    const page = await open(browser, screen);
    for (const [state, glance] of Object.entries(STATES)) {
      await check(`${state} on ${screen}`, async () => {
        await bring(page, assistant, glance);
        const amiss = compare(`${state}-${screen}`, await page.screenshot(), AMISS);
        return [amiss, ...(await layoutFaults(page)), ...page.complaints.splice(0)];
      });
    }
    for (const [state, glance] of Object.entries(EXTREMES)) {
      await check(`${state}, on ${screen}`, async () => {
        await bring(page, assistant, glance);
        return [...(await layoutFaults(page)), ...page.complaints.splice(0)];
      });
    }
    await page.context().close();
  }
  for (const [screen, dark] of [["tablet", false], ["tablet", true], ["phone-upright", true], ["phone-wide", false]]) {
    const page = await open(browser, screen, { dark });
    for (const [state, glance] of Object.entries(STATES)) {
      await check(`${state} on ${screen}${dark ? ", dark" : ""}, by axe-core`, async () => {
        await bring(page, assistant, glance);
        const amiss = dark && screen === "tablet" ? compare(`${state}-${screen}-dark`, await page.screenshot(), AMISS) : null;
        return [amiss, ...(await accessibilityFaults(page))];
      });
    }
    await page.context().close();
  }
}
