// The program itself in a real browser: `node program.mjs papers SAYBACK RECORDS` looks at the papers, RECORDS being a
// folder with a job that has a note; `node program.mjs whole-job SAYBACK FOLDER` watches the demonstration, FOLDER
// being the workspace. Ends as `run.mjs` does.

import { Pages, browser as startBrowser } from "./parts.mjs";
import { check, end } from "./checks.mjs";
import papers from "./cases/papers.mjs";
import wholeJob from "./cases/whole_job.mjs";

const [which, program, folder] = process.argv.slice(2);
if (folder === undefined || !["papers", "whole-job"].includes(which)) {
  console.error("say what to look at, and with what: node program.mjs papers|whole-job SAYBACK FOLDER");
  process.exit(2);
}
const browser = await startBrowser();
try {
  if (which === "whole-job") {
    await wholeJob({ browser, program, folder, check });
  } else {
    const assistant = await Pages.serve(program, folder);
    try {
      await papers({ browser, assistant, check });
    } finally {
      await assistant.kill();
    }
  }
} finally {
  await browser.close();
}
end();
