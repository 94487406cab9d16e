// Light and dark, less motion, forced colours, paper, and those who listen to the page.

import { bring, open, settle } from "../screens.mjs";
import { STATES } from "../states.mjs";
import { accessibilityFaults } from "./looks.mjs";

const ground = (page) => page.evaluate(() => getComputedStyle(document.body).backgroundColor);

export default async function settings({ browser, assistant, check }) {
  await check("light and dark follow the screen, then the switch, and stay so", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES.step);
    const light = await ground(page);
    await page.emulateMedia({ colorScheme: "dark" });
    const dark = await ground(page);
    await page.click("#theme");
    const chosen = await ground(page);
    await page.reload();
    await bring(page, assistant, STATES.step);
    const kept = await ground(page);
    await page.context().close();
    return [light === dark ? "a dark screen shows the same" : null, chosen === light ? null : "the switch doesn't change it", kept === light ? null : "it is forgotten when the page is loaded again"];
  });
  await check("nothing moves by itself", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES.tighten);
    const moving = await page.evaluate(() => document.getAnimations().length);
    await page.context().close();
    return moving === 0 ? null : `${moving} animations`;
  });
  await check("with forced colours the gate still has its frame and the next fastener its shape", async () => {
    const page = await open(browser, "tablet", { forced: "active" });
    await bring(page, assistant, STATES.gate);
    const frame = await page.evaluate(() => {
      const style = getComputedStyle(document.body, "::before");
      return [style.borderTopStyle, parseFloat(style.borderTopWidth)];
    });
    const faults = await accessibilityFaults(page);
    await bring(page, assistant, STATES["tighten-pass"]);
    const shape = await page.evaluate(() => document.querySelector(".pattern-next rect") !== null && document.querySelector(".pattern-next text").textContent);
    await page.context().close();
    return [frame[0] === "double" && frame[1] > 10 ? null : `the frame is ${frame}`, shape === "3" ? null : `the next one is ${shape}`, ...faults];
  });
  await check("on paper it is black on white, without switches", async () => {
    const page = await open(browser, "tablet", { dark: true });
    await bring(page, assistant, STATES.tighten);
    await page.emulateMedia({ media: "print" });
    await settle(page);
    const [back, switches] = await page.evaluate(() => [getComputedStyle(document.body).backgroundColor, getComputedStyle(document.getElementById("switches")).display]);
    await page.context().close();
    return [back === "rgb(255, 255, 255)" ? null : `the ground is ${back}`, switches === "none" ? null : "the switches are printed"];
  });
  await check("those who listen are told the step when it changes, and a gate at once", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES.step);
    const first = await page.evaluate(() => [document.getElementById("aloud").getAttribute("aria-live"), document.getElementById("aloud").textContent]);
    await page.evaluate(() => {
      globalThis.told = 0;
      new MutationObserver(() => (globalThis.told += 1)).observe(document.getElementById("aloud"), { childList: true, characterData: true, subtree: true });
    });
    await bring(page, assistant, { ...STATES.step, heard: { words: "what size", verdict: "understood", at_ms: 0 } });
    const again = await page.evaluate(() => globalThis.told);
    await bring(page, assistant, STATES.gate);
    const gate = await page.evaluate(() => [document.getElementById("at-once").getAttribute("aria-live"), document.getElementById("at-once").textContent]);
    await page.context().close();
    return [
      first[0] === "polite" && first[1].startsWith("Step 17 of 62. Free the speed-sensor lead") ? null : `it told ${first}`,
      again === 0 ? null : "the same step was told twice",
      gate[0] === "assertive" && gate[1].includes("say aloud: Both stands carry the weight") ? null : `of the gate it told ${gate}`,
    ];
  });
  await check("text of others stays text", async () => {
    const page = await open(browser, "tablet");
    const nasty = '<img src=x onerror="document.title=1"><script>document.title=2</script>&amp;"\'';
    await bring(page, assistant, { ...STATES.tighten, job: { ...STATES.step.job, title: nasty, vehicle: nasty }, step: { ...STATES.tighten.step, text: nasty }, heard: { words: nasty, verdict: "understood", at_ms: 0 }, say_now: [nasty], off: [{ what: nasty, state: "off" }] });
    const [images, title, text] = await page.evaluate(() => [document.images.length, document.title, document.querySelector("#step p").textContent]);
    await page.context().close();
    return [images === 0 ? null : "markup became an element", title === "Sayback" ? null : "a script ran", text === nasty ? null : `the text became ${text}`];
  });
}
