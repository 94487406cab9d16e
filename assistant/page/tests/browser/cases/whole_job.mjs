// A whole job, driven by sound, while the page is watched: what it shows is what is said.

import { spawn } from "node:child_process";
import { mkdtempSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { scratch } from "../parts.mjs";

/** Keeps each state that the page comes to, when it did, and what it showed then. Runs in the page. */
function keepAll() {
  globalThis.states = [];
  const text = (selector) => document.querySelector(selector)?.textContent ?? "";
  addEventListener("DOMContentLoaded", () => {
    new MutationObserver(() => {
      globalThis.states.push({
        made: Number(document.body.dataset.at),
        shown: Date.now(),
        place: document.getElementById("place").textContent,
        holds: document.body.classList.contains("holds"),
        readback: text(".readback p").replace(text(".readback mark"), ""),
        colour: text(".readback mark"),
        step: document.getElementById("step").hidden ? "" : text("#step p"),
        question: document.getElementById("question").hidden ? "" : text("#question p"),
        size: document.getElementById("size").hidden ? "" : text("#size .figure"),
        torque: document.getElementById("torque").hidden ? "" : `${text("#torque .figure")} ${text("#torque .units b")}`,
        outcome: document.body.dataset.state,
      });
    }).observe(document.body, { attributes: true, attributeFilter: ["data-at"] });
  });
}

/** Plays the demonstration; calls `served` with the page's address, and gives all that it printed. */
async function play(program, folder, served) {
  const out = mkdtempSync(join(scratch, "demo-"));
  const child = spawn(program, ["demo", "--page=127.0.0.1:0", "--out", out], { cwd: folder, stdio: ["ignore", "pipe", "inherit"] });
  const lines = [];
  let watching = Promise.resolve();
  createInterface({ input: child.stdout }).on("line", (line) => {
    lines.push(line);
    const address = /^The page: (http:\S+)/.exec(line);
    if (address) watching = served(address[1]);
  });
  const code = await new Promise((resolve) => child.once("close", resolve));
  await watching;
  if (code !== 0) throw new Error(`the demonstration ended with ${code}: ${lines.slice(-5).join(" / ")}`);
  return lines;
}

/** The record's name of the job in hand; the page is served before the job is begun. */
async function jobOf(page) {
  const named = await page.waitForFunction(async () => (await (await fetch("/api/glance")).json()).job?.name, null, { polling: 100 });
  return named.jsonValue();
}

const plain = (text) => text.replace(/\s+/g, " ").trim();

/** Sentences that were said, by what they are for. */
function spoken(lines) {
  const journal = lines.indexOf("==== The journal");
  const said = lines.slice(0, journal < 0 ? undefined : journal).map((line) => /^ {2}([!#?x ]) (\S.*)$/.exec(line)).filter(Boolean);
  return { all: said.map(([, , text]) => plain(text)), holds: said.filter(([, mark]) => mark === "#").map(([, , text]) => plain(text)) };
}

const share = (sorted, part) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * part))];

export default async function wholeJob({ browser, program, folder, check }) {
  await check("each step and each gate of a spoken job is on the page as it is said", async () => {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, reducedMotion: "reduce" });
    await page.addInitScript(keepAll);
    const other = await browser.newPage();
    const grown = [];
    const lines = await play(program, folder, async (address) => {
      await page.goto(address);
      const name = await jobOf(page);
      await other.goto(`${new URL(address).origin}/jobs/${encodeURIComponent(name)}`);
      await other.waitForSelector(".entry").catch(async (error) => {
        throw new Error(`${error.message}\nThe page has: ${await other.locator("body").innerText()}`);
      });
      grown.push(await other.locator(".entry").count());
      await page.waitForFunction(() => document.body.dataset.link === "lost" || document.body.dataset.state === "closed", null, { timeout: 900_000 });
      grown.push(await other.locator(".entry").count());
    });
    const states = await page.evaluate(() => globalThis.states);
    await page.context().close();
    await other.context().close();

    const { all, holds } = spoken(lines);
    const faults = [];
    const isSaid = (text) => all.some((said) => said.includes(plain(text)));
    for (const text of new Set(states.filter(({ holds: held }) => !held).flatMap(({ step, question }) => [step, question]).filter(Boolean))) {
      if (!isSaid(text) && !text.includes("finished and closed")) faults.push(`“${text}” was shown and never said`);
    }
    const shownWords = new Set(states.filter(({ holds: held }) => held).map(({ readback }) => plain(readback)));
    for (const words of shownWords) {
      if (!holds.some((said) => said.includes(words))) faults.push(`the gate “${words}” was shown and never said`);
    }
    for (const { colour } of states) if (colour !== "" && !all.some((said) => said.includes(`Check word: ${colour}.`))) faults.push(`the colour ${colour} was shown and never said`);
    const numbers = states.map(({ place }) => /Step (\d+) of (\d+)/.exec(place)).filter(Boolean).map(([, number, of]) => [Number(number), Number(of)]);
    const [first, last] = [numbers[0][0], numbers.at(-1)[1]];
    const seen = new Set(numbers.map(([number]) => number));
    for (let number = first; number <= last; number += 1) if (!seen.has(number)) faults.push(`step ${number} of ${last} was never shown`);
    if (first > 6) faults.push(`the page came only at step ${first}`);
    if (shownWords.size < 5) faults.push(`only ${shownWords.size} gates were shown`);
    if (!states.some(({ torque }) => torque !== "") || !states.some(({ size }) => size !== "")) faults.push("no torque or no size was ever shown");
    for (const { torque } of states) if (torque !== "" && !all.some((said) => said.includes(torque.trim()))) faults.push(`the torque ${torque} was shown and never said`);
    if (states.at(-1).outcome !== "closed") faults.push(`the page ends as ${states.at(-1).outcome}`);
    if (!(grown[1] > grown[0])) faults.push(`the record's page stayed at ${grown.join(" and then ")} entries`);

    const late = states.map(({ made, shown }) => shown - made).sort((a, b) => a - b);
    console.log(`${states.length} states, ${seen.size} steps, ${shownWords.size} gates; from the engine to the page ${share(late, 0.5)} ms in the middle, ${share(late, 0.99)} ms at the 99th of a hundred, ${late.at(-1)} ms at most`);
    return [...new Set(faults)];
  });
}
