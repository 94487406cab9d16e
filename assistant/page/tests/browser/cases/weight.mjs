// All that a viewer loads is the assistant's own, and little.

import { bring, open } from "../screens.mjs";
import { STATES } from "../states.mjs";
import { readdirSync, statSync } from "node:fs";

const ASSETS = new URL("../../../assets/", import.meta.url);
const MOST_BYTES = 200_000;

export default async function weight({ browser, assistant, check }) {
  await check("all files together are under 200 kB", async () => {
    const bytes = readdirSync(ASSETS).reduce((sum, name) => sum + statSync(new URL(name, ASSETS)).size, 0);
    return bytes < MOST_BYTES ? null : `${bytes} bytes`;
  });
  await check("nothing is asked of any other address, and nothing in vain", async () => {
    const page = await open(browser, "tablet");
    const faults = [];
    page.on("request", (request) => {
      if (new URL(request.url()).origin !== new URL(assistant.url).origin) faults.push(`asked for ${request.url()}`);
    });
    page.on("response", (response) => {
      if (response.status() >= 400) faults.push(`${response.status()} for ${response.url()}`);
    });
    for (const path of ["", "procedures", "settings"]) {
      await page.goto(assistant.url + path);
      await page.waitForFunction(() => document.querySelector("h1") !== null);
    }
    await page.goto(assistant.url);
    await bring(page, assistant, STATES.tighten);
    await page.context().close();
    return faults;
  });
}
