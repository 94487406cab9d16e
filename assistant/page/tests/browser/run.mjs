// The glance page in a real browser: `node run.mjs [--only CASE,…] PROGRAM`, where PROGRAM is the built program
// `glance_server`. Ends with 0 when all is well, 1 when something is amiss, 2 when something is missing.

import { Assistant, browser as startBrowser } from "./parts.mjs";
import { check, end } from "./checks.mjs";
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
const [program] = given;
if (program === undefined) {
  console.error("give the program that serves a glance: node run.mjs PROGRAM");
  process.exit(2);
}

const assistant = new Assistant(program);
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
