// The glance page in a real browser: `node run.mjs [--only CASE,…] PROGRAM [ARGUMENT …]`, where PROGRAM is the built
// example `glance_server`. Ends with 0 when all is well, 1 when something is amiss, 2 when something is missing.

import { Assistant, browser as startBrowser } from "./parts.mjs";
import { STATES } from "./states.mjs";
import legible from "./cases/legible.mjs";
import line from "./cases/line.mjs";
import looks from "./cases/looks.mjs";
import settings from "./cases/settings.mjs";
import touch from "./cases/touch.mjs";
import weight from "./cases/weight.mjs";

const CASES = { weight, looks, legible, touch, settings, line };

const given = process.argv.slice(2);
const only = given[0] === "--only" ? given.splice(0, 2)[1].split(",") : Object.keys(CASES);
if (given.length === 0) {
  console.error("give the program that serves a glance: node run.mjs PROGRAM");
  process.exit(2);
}

let well = 0;
const amiss = [];

/** Runs one check; it gives what is wrong, as a sentence, a list of them, or null. */
async function check(name, run) {
  let faults;
  try {
    faults = [await run()].flat().filter((fault) => fault !== null && fault !== undefined);
  } catch (error) {
    faults = [error.message];
  }
  if (faults.length === 0) {
    well += 1;
    return;
  }
  amiss.push(name);
  console.log(`amiss: ${name}`);
  for (const fault of faults) console.log(`  ${fault}`);
}

const assistant = new Assistant(given);
assistant.show(STATES["no-job"]);
await assistant.start();
const browser = await startBrowser();
try {
  for (const name of only) await CASES[name]({ browser, assistant, check });
} finally {
  await browser.close();
  await assistant.kill();
}
console.log(`${well} checks well, ${amiss.length} amiss`);
process.exit(amiss.length === 0 ? 0 : 1);
