// The glance page in a real browser: `node run.mjs [--only CASE,…] PROGRAM RECORDS`, where PROGRAM is the built
// program `glance_server` and RECORDS a folder with the record of one job. Ends with 0 when all is well, 1 when something is amiss, 2 when something is missing.

import { Assistant, browser as startBrowser } from "./parts.mjs";
import { check, end } from "./checks.mjs";
import { STATES } from "./states.mjs";
import jobs from "./cases/jobs.mjs";
import legible from "./cases/legible.mjs";
import line from "./cases/line.mjs";
import looks from "./cases/looks.mjs";
import settings from "./cases/settings.mjs";
import touch from "./cases/touch.mjs";
import weight from "./cases/weight.mjs";

const CASES = { weight, looks, legible, touch, jobs, settings, line };

const given = process.argv.slice(2);
const only = given[0] === "--only" ? given.splice(0, 2)[1].split(",") : Object.keys(CASES);
const [program, records] = given;
if (records === undefined) {
  console.error("give the program that serves a glance, and a folder of records: node run.mjs PROGRAM RECORDS");
  process.exit(2);
}

const assistant = new Assistant(program, records);
assistant.show(STATES["no-job"]);
await assistant.start();
const browser = await startBrowser();
try {
  for (const name of only) await CASES[name]({ browser, assistant, check });
} finally {
  await browser.close();
  await assistant.kill();
}
end();
