// Without a job the board leads to the jobs on record; before a job its mark is seen; a list can be seen whole.

import { bring, open, settle } from "../screens.mjs";
import { layoutFaults } from "../seen.mjs";
import { EXTREMES, STATES } from "../states.mjs";
import { accessibilityFaults } from "./looks.mjs";

/** Screens that lie, between a phone and a large one. */
const LYING = [[820, 600], [1024, 768], [1280, 800], [1600, 900]];

const expected = (what, told, wanted) => (told === wanted ? null : `${what} is ${JSON.stringify(told)}, not ${JSON.stringify(wanted)}`);

export default async function jobs({ browser, assistant, check }) {
  await check("without a job the jobs on record are shown, and no button that does nothing", async () => {
    const page = await open(browser, "tablet");
    await bring(page, assistant, STATES["no-job"]);
    await page.waitForSelector("#idle .rows a");
    const row = await page.textContent("#idle .rows li");
    const buttons = await page.locator("#switches button:visible").allTextContents();
    const faults = await accessibilityFaults(page);
    await page.click("#idle .rows a");
    await page.waitForSelector(".entry");
    const path = new URL(page.url()).pathname;
    await page.goto(assistant.entrance);
    await bring(page, assistant, STATES.step);
    const gone = await page.isHidden("#idle");
    await page.context().close();
    return [
      row.includes("van of the Saltmarsh ferry depot") ? null : `the row reads ${row}`,
      expected("the buttons", buttons.join(), "Dark"),
      path.startsWith("/jobs/") ? null : `the row leads to ${path}`,
      gone ? null : "the jobs stay beside a step",
      ...faults,
      ...page.complaints,
    ];
  });
  await check("jobs are searched for, and a record keeps its identifiers behind a fold", async () => {
    const page = await open(browser, "tablet");
    await page.goto(assistant.entrance.replace("?", "jobs?"));
    const search = async (text) => {
      await page.fill("#text", text);
      await page.click("[role=search] button");
      await page.waitForFunction((wanted) => new URLSearchParams(location.search).get("text") === wanted && document.querySelector("#text")?.value === wanted, text);
      return page.locator(".rows li").count();
    };
    await page.waitForSelector("#text");
    const found = [await search("saltmarsh FERRY"), await search("no such words"), await search("hose")];
    await page.click(".rows a");
    await page.waitForSelector(".entry");
    const seen = await page.innerText("main");
    await page.click(".proof summary");
    const proof = await page.innerText(".proof");
    const faults = await accessibilityFaults(page);
    await page.context().close();
    return [expected("what is found", found.join(), "1,0,1"), /SHA-256/.test(seen) ? "a hash is seen at once" : null, /SHA-256 [0-9a-f]{64}/.test(proof) ? null : `the proof reads ${proof}`, ...faults, ...page.complaints];
  });
  await check("jobs are found by vehicle and day, and lead to the vehicle's page", async () => {
    const page = await open(browser, "tablet");
    const found = async (query) => {
      await page.goto(assistant.entrance.replace("?", `jobs?${query}&`));
      await page.waitForSelector("[role=search]");
      return page.locator(".rows li").count();
    };
    const day = "2026-03-02";
    const counts = [await found("vehicle=SALTMARSH"), await found("vehicle=hovercraft"), await found(`from=${day}&to=${day}`), await found("to=2026-02-20"), await found("from=2026-03-10")];
    const kept = await page.inputValue("#from");
    await found("vehicle=saltmarsh");
    await page.click(".rows a");
    await page.waitForSelector(".entry");
    await page.click("a[href^='/vehicles/']:not(nav a)");
    await page.waitForSelector("main h2");
    const headings = await page.locator("main h2").allTextContents();
    const jobs = await page.locator(".rows li").count();
    const faults = await accessibilityFaults(page);
    await page.context().close();
    return [
      expected("what is found", counts.join(), "1,0,1,0,0"),
      expected("what the form keeps", kept, "2026-03-10"),
      expected("the vehicle's headings", headings.join(), "Due,Jobs,Measured last"),
      expected("its jobs", jobs, 1),
      ...faults,
      ...page.complaints,
    ];
  });
  for (const [width, height] of LYING) {
    for (const mark of ["rehearsal", "recordings"]) {
      await check(`before a job its mark is seen whole: ${mark}, ${width}×${height}`, async () => {
        const page = await open(browser, "tablet");
        await page.setViewportSize({ width, height });
        const state = EXTREMES["a question before a job from recordings"];
        await bring(page, assistant, { ...state, job: { ...state.job, recordings: mark === "recordings", rehearsal: mark === "rehearsal" } });
        const covered = await page.evaluate(() => {
          const flag = document.querySelector("#job .flag").getBoundingClientRect();
          const boxes = [...document.querySelectorAll("#place, #level, #switches > *")].map((part) => [part.id, part.getBoundingClientRect()]);
          return boxes.filter(([, box]) => flag.right > box.left + 1 && box.right > flag.left + 1 && flag.bottom > box.top + 1 && box.bottom > flag.top + 1).map(([id]) => `${id} lies on the mark`);
        });
        const faults = [...covered, ...(await layoutFaults(page)), ...page.complaints];
        await page.context().close();
        return faults;
      });
    }
  }
  await check("what a list leaves out is opened on a phone, and gives way to a gate", async () => {
    const page = await open(browser, "phone-upright");
    const phrases = Array.from({ length: 60 }, (_, k) => `phrase number ${k + 1}`);
    await bring(page, assistant, { ...STATES.step, say_now: phrases });
    const left = await page.textContent("#say .more");
    await page.click("#say .more button");
    const shown = await page.locator(".whole li").allTextContents();
    const faults = await accessibilityFaults(page);
    await bring(page, assistant, STATES.gate);
    await settle(page);
    const over = await page.locator(".whole").count();
    await page.context().close();
    return [/^and \d+ more$/.test(left) ? null : `it says ${left}`, expected("what is opened", shown.join(), phrases.join()), over === 0 ? null : "it stays over the gate", ...faults, ...page.complaints];
  });
}
