// The screens that the page is looked at on, and how a state is brought onto one.

import { scratch } from "./parts.mjs";

/** Width and height in CSS pixels; the tablet is the 10-inch one that is read from the floor. */
export const SCREENS = {
  "phone-upright": [390, 844],
  "phone-wide": [844, 390],
  tablet: [1280, 800],
  laptop: [1440, 900],
  "4k": [3840, 2160],
};

/** The visible area of a 10-inch tablet of 16:10, in millimetres: 10.1 in × 25.4 mm × cos(arctan(10/16)) wide. */
export const TABLET_MM = { width: 217, height: 136 };

let shown = Date.UTC(2026, 2, 4, 9, 30);

/** Where pictures of failed checks are put. */
export const AMISS = process.env.SAYBACK_PICTURES ?? `${scratch}/../sayback-page-amiss`;

/** A page of that screen; what it complains of goes into `complaints`. */
export async function open(browser, screen, { dark = false, contrast = undefined, forced = "none" } = {}) {
  const [width, height] = SCREENS[screen];
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: dark ? "dark" : "light", contrast, forcedColors: forced, reducedMotion: "reduce" });
  const page = await context.newPage();
  page.setDefaultTimeout(30_000);
  page.complaints = [];
  page.on("pageerror", (error) => page.complaints.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") page.complaints.push(message.text());
  });
  return page;
}

/** Shows a glance and waits until the page has it, with its letters fitted. */
export async function bring(page, assistant, glance, level) {
  shown += 1000;
  const at = shown;
  // Waits are told relative to the states' own time; they end as long after now.
  const moved = (glance.timers ?? []).map((timer) => ({ ...timer, ends_at_ms: Date.now() + (timer.ends_at_ms - Date.UTC(2026, 2, 4, 9, 30)) }));
  assistant.show({ ...glance, timers: moved, at_ms: at }, level);
  if (!page.url().startsWith(assistant.url)) await page.goto(assistant.entrance);
  await page.waitForFunction((wanted) => document.body.dataset.at === String(wanted) && document.body.dataset.link === "live" && !document.getElementById("level").hidden, at);
  // Without a job it asks for the jobs on record.
  await page.waitForFunction(() => !document.body.innerText.includes("One moment …"));
  await settle(page);
}

/** Until the letters have been fitted and nothing moves any more. */
export async function settle(page) {
  await page.evaluate(async () => {
    await document.fonts.ready;
    for (let frame = 0; frame < 4; frame += 1) await new Promise((next) => requestAnimationFrame(next));
  });
}
