// A finger and a keyboard can do what is harmless, and pass nothing.

import { bring, open, settle } from "../screens.mjs";
import { STATES } from "../states.mjs";

const HARMLESS = new Set(['{"do":"repeat"}', '{"do":"mute"}', '{"do":"unmute"}']);
const KEYS = ["Enter", "Space", "Escape", "Tab", "ArrowRight", "ArrowLeft", "PageDown", "Home", "n", "y", "Control+Enter", "F2", "Backspace"];

export default async function touch({ browser, assistant, check }) {
  for (const screen of ["tablet", "phone-upright"]) {
    await check(`nothing that is touched or typed passes a gate, ${screen}`, async () => {
      const page = await open(browser, screen);
      const sent = [];
      page.on("request", (request) => {
        if (request.method() !== "GET") sent.push(`${request.method()} ${new URL(request.url()).pathname} ${request.postData() ?? ""}`);
      });
      await bring(page, assistant, STATES.gate);
      const held = () => page.evaluate(() => document.body.classList.contains("holds") && document.querySelector(".readback").innerText.includes("stands"));
      const { width, height } = page.viewportSize();
      for (let y = 10; y < height; y += height / 14) {
        for (let x = 10; x < width; x += width / 10) await page.mouse.click(x, y);
      }
      if (new URL(page.url()).pathname !== "/") await page.goto(assistant.entrance);
      for (const key of KEYS) {
        await page.keyboard.press("Tab");
        await page.keyboard.press(key);
      }
      if (new URL(page.url()).pathname !== "/") await page.goto(assistant.entrance);
      await page.mouse.move(width / 2, height / 2);
      await page.mouse.down();
      await page.mouse.move(10, 10, { steps: 5 });
      await page.mouse.up();
      await settle(page);
      const faults = (await held()) ? [] : ["the gate is gone from the page"];
      for (const each of sent) {
        const [method, path, body] = each.split(" ");
        if (method !== "POST" || path !== "/api/do" || !HARMLESS.has(body)) faults.push(`it sent ${each}`);
      }
      if (sent.length === 0) faults.push("no press arrived at all, so nothing was shown");
      await page.context().close();
      return faults;
    });
  }
  await check("each switch is reached by the keyboard, seen, and large enough", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES.tighten);
    const faults = [];
    const reached = [];
    for (let k = 0; k < 6; k += 1) {
      await page.keyboard.press("Tab");
      reached.push(
        await page.evaluate(() => {
          const at = document.activeElement;
          const { width, height } = at.getBoundingClientRect();
          const style = getComputedStyle(at);
          return { id: at.id, width, height, outline: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2 };
        }),
      );
    }
    for (const id of ["repeat", "mute", "theme", "papers"]) {
      const at = reached.find((each) => each.id === id);
      if (!at) faults.push(`${id} isn't reached`);
      // WCAG 2.2, 2.5.8: 24 CSS pixels at least.
      else if (at.width < 24 || at.height < 24) faults.push(`${id} is ${at.width}×${at.height}`);
      else if (!at.outline) faults.push(`${id} doesn't show that it has the focus`);
    }
    await page.context().close();
    return faults;
  });
  await check("repeat and mute are asked for, and the glance tells what came of it", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES.step);
    const posted = [];
    page.on("response", (response) => {
      if (response.request().method() === "POST") posted.push([response.request().postData(), response.ok()]);
    });
    const press = async (id) => {
      const answered = page.waitForResponse((response) => response.request().method() === "POST");
      await page.click(id);
      await answered;
    };
    await press("#repeat");
    await press("#mute");
    const before = await page.getAttribute("#mute", "aria-pressed");
    await bring(page, assistant, STATES.muted);
    const after = await page.getAttribute("#mute", "aria-pressed");
    await press("#mute");
    await page.context().close();
    const wanted = JSON.stringify([['{"do":"repeat"}', true], ['{"do":"mute"}', true], ['{"do":"unmute"}', true]]);
    return [JSON.stringify(posted) === wanted ? null : `asked was ${JSON.stringify(posted)}`, before === "false" && after === "true" ? null : `the switch stood at ${before}, then ${after}`];
  });
}
