// The papers: what is on record, what there is to do, how the bay is set up; and a photo for a note.

import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { PNG, scratch } from "../parts.mjs";
import { SCREENS } from "../screens.mjs";
import { accessibilityFaults } from "./looks.mjs";

async function opened(browser, assistant, path, { screen = "laptop", dark = false } = {}) {
  const [width, height] = SCREENS[screen];
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: dark ? "dark" : "light", reducedMotion: "reduce" });
  const page = await context.newPage();
  page.complaints = [];
  page.on("pageerror", (error) => page.complaints.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error") page.complaints.push(message.text());
  });
  await page.goto(assistant.entrance.replace("?", `${path}?`));
  await page.waitForFunction(() => document.title !== "Sayback");
  return page;
}

const title = (page) => page.textContent("h1");

/** A picture, as a camera might make one. */
function photo(name) {
  const png = new PNG({ width: 64, height: 48 });
  for (let at = 0; at < png.data.length; at += 4) png.data.set([at % 251, (at * 7) % 253, 90, 255], at);
  const path = join(scratch, name);
  writeFileSync(path, PNG.sync.write(png));
  return path;
}

export default async function papers({ browser, assistant, check }) {
  const first = await opened(browser, assistant, "jobs");
  const record = await first.getAttribute(".rows a", "href");
  await first.goto(`${assistant.url}procedures`);
  await first.waitForSelector(".rows a");
  const procedure = await first.getAttribute(".rows a", "href");
  await first.goto(`${assistant.url}vehicles`);
  await first.waitForSelector(".rows a");
  const vehicle = await first.getAttribute(".rows a", "href");
  await first.context().close();
  const paths = ["jobs", record.slice(1), "vehicles", vehicle.slice(1), "procedures", procedure.slice(1), "settings"];

  for (const path of paths) {
    for (const look of [{}, { dark: true }, { screen: "phone-upright" }]) {
      await check(`/${path} ${JSON.stringify(look)}`, async () => {
        const page = await opened(browser, assistant, path, look);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        const pictures = await page.evaluate(async () => {
          const all = [...document.images];
          await Promise.all(all.map((image) => image.decode().catch(() => null)));
          return all.filter((image) => image.naturalWidth === 0).map((image) => image.src);
        });
        const faults = [wide > 0 ? `it is ${wide} pixels too wide` : null, ...pictures.map((src) => `no picture comes from ${src}`), ...(await accessibilityFaults(page)), ...page.complaints];
        await page.context().close();
        return faults;
      });
    }
  }
  await check("what isn't there is told as such", async () => {
    const faults = [];
    for (const path of ["jobs/no-such-job", "vehicles/no-such-vehicle", "procedures/no-such-procedure"]) {
      const page = await opened(browser, assistant, path);
      if ((await title(page)) !== "It can't be shown") faults.push(`/${path} is called ${await title(page)}`);
      await page.context().close();
    }
    return faults;
  });
  await check("a record tells its entries, and has its report in four forms", async () => {
    const page = await opened(browser, assistant, record.slice(1));
    const entries = await page.locator(".entry").count();
    const answers = await page.evaluate(async () => Promise.all([...document.querySelectorAll(".links a")].map(async ({ href }) => {
      const answer = await fetch(href);
      return `${answer.status} ${answer.headers.get("content-type").split(";")[0]}`;
    })));
    await page.context().close();
    const wanted = "200 text/html, 200 application/pdf, 200 text/csv, 200 application/json";
    return [entries >= 2 ? null : `it shows ${entries} entries`, answers.join(", ") === wanted ? null : `the reports are ${answers.join(", ")}`];
  });
  await check("a photo goes to its note; what is none is refused before it is sent", async () => {
    const page = await opened(browser, assistant, record.slice(1));
    const posted = [];
    page.on("response", (response) => {
      if (response.request().method() === "POST") posted.push(response.status());
    });
    const told = async (file) => {
      await page.setInputFiles(".photo input", file);
      await page.waitForFunction(() => !document.querySelector(".photo input").disabled && document.querySelector(".photo [role=status]").textContent !== "One moment …");
      return page.textContent(".photo [role=status]");
    };
    mkdirSync(scratch, { recursive: true });
    const text = join(scratch, "photo.jpg");
    writeFileSync(text, "This is no photo.");
    const large = join(scratch, "large.png");
    writeFileSync(large, Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), Buffer.alloc(10 * 1024 * 1024)]));
    const [none, tooLarge] = [await told(text), await told(large)];
    const before = posted.length;
    const kept = await told(photo("boot.png"));
    await page.context().close();
    return [
      none.startsWith("This is no JPEG") ? null : `of a text it says ${none}`,
      tooLarge.startsWith("The photo has 10.0 MB") ? null : `of a large file it says ${tooLarge}`,
      before === 0 ? null : "it was sent all the same",
      kept.startsWith("Kept") && posted[0] === 201 ? null : `of a photo it says ${kept} (${posted})`,
    ];
  });
  await check("no page of the papers sends anything but a photo, repeat and mute", async () => {
    const faults = [];
    for (const path of paths) {
      const page = await opened(browser, assistant, path);
      const sent = [];
      page.on("request", (request) => {
        if (request.method() !== "GET") sent.push(request.postData());
      });
      for (const button of await page.locator("button:visible").all()) await button.click();
      faults.push(...sent.filter((body) => !['{"do":"repeat"}', '{"do":"mute"}', '{"do":"unmute"}'].includes(body)).map((body) => `/${path} sends ${body}`));
      await page.context().close();
    }
    return faults;
  });
}
