// What the tests stand on: the libraries that set-up placed, the browser, the assistant's server.

import { spawn } from "node:child_process";
import { createRequire } from "node:module";
import { existsSync, mkdirSync, mkdtempSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { homedir, tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { LEVEL } from "./states.mjs";

const CHROMIUM = process.env.SAYBACK_CHROMIUM ?? "/usr/bin/chromium";
const FONTS = "/usr/share/fonts/truetype/dejavu";

/** Ends the run with what to do; nothing was tested. */
function lacking(what) {
  console.error(`${what} is missing: run \`cargo xtask setup\``);
  process.exit(2);
}

/** The folder in which set-up keeps what it fetched. */
function cache() {
  return process.env.SAYBACK_CACHE || (process.env.XDG_CACHE_HOME ? join(process.env.XDG_CACHE_HOME, "sayback") : join(homedir(), ".cache/sayback"));
}

const libraries = join(cache(), "browser");
if (!existsSync(join(libraries, "node_modules/playwright-core"))) lacking(`playwright-core in ${libraries}`);
if (!existsSync(CHROMIUM)) lacking(`Chromium (${CHROMIUM})`);
if (!existsSync(join(FONTS, "DejaVuSansCondensed-Bold.ttf"))) lacking(`The typeface of the reference pictures (Debian's fonts-dejavu-extra, in ${FONTS})`);

const require = createRequire(join(libraries, "package.json"));
export const { chromium } = require("playwright-core");
export const { PNG } = require("pngjs");
export const AXE = require.resolve("axe-core/axe.min.js");

/** A folder of this run's own, which goes with it. */
export const scratch = mkdtempSync(join(tmpdir(), "sayback-browser-"));
process.on("exit", () => rmSync(scratch, { recursive: true, force: true }));

/**
 * Starts the browser. It knows one typeface only, so that pictures are the same on each machine; and it is told not
 * to look for anything outside.
 */
export async function browser() {
  const fonts = join(scratch, "fonts.conf");
  writeFileSync(fonts, `<?xml version="1.0"?>\n<fontconfig><dir>${FONTS}</dir><cachedir>${scratch}/fonts</cachedir></fontconfig>\n`);
  return chromium.launch({
    executablePath: CHROMIUM,
    env: { ...process.env, FONTCONFIG_FILE: fonts, HOME: scratch },
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--font-render-hinting=none", "--disable-lcd-text"],
  });
}

/** A program that serves pages; it prints its address. */
export class Pages {
  #command;
  #child = null;
  /** Where it is served. */
  url = "";
  /** The same with the token, without which nothing can be asked for. */
  entrance = "";

  constructor(...command) {
    this.#command = command;
  }

  /** The program itself, without a job: records and procedures. */
  static async serve(program, records) {
    const pages = new Pages(program, "page", "127.0.0.1:0", "--records", records);
    await pages.start();
    return pages;
  }

  /** Starts it, with these arguments besides. */
  async start(...more) {
    const [program, ...given] = [...this.#command, ...more];
    this.#child = spawn(program, given, { stdio: ["ignore", "pipe", "inherit"] });
    const lines = createInterface({ input: this.#child.stdout });
    this.entrance = await new Promise((resolve, reject) => {
      lines.on("line", (line) => {
        const address = /http:\S+/.exec(line);
        if (address) resolve(address[0]);
      });
      this.#child.once("exit", (code) => reject(new Error(`the server ended at once (${code})`)));
    });
    this.url = `${new URL(this.entrance).origin}/`;
  }

  /** Ends it as a crash would: without a word to anybody. */
  async kill() {
    const ended = new Promise((resolve) => this.#child.once("exit", resolve));
    this.#child.kill("SIGKILL");
    await ended;
  }

  /** Stops it without ending it: the line stays open, and nothing comes. */
  freeze() {
    this.#child.kill("SIGSTOP");
  }

  thaw() {
    this.#child.kill("SIGCONT");
  }
}

/** The program that serves a glance from a file. */
export class Assistant extends Pages {
  #port = 0;

  constructor(program, records) {
    super(program, join(scratch, "glance.json"), records);
  }

  /** Lets it show this. */
  show(glance, level = LEVEL) {
    for (const [name, value] of [["glance.level.json", level], ["glance.json", glance]]) {
      const made = join(scratch, `${name}.new`);
      writeFileSync(made, JSON.stringify(value));
      renameSync(made, join(scratch, name));
    }
  }

  /** Starts it, on the port that it had before where it had one. */
  async start() {
    await super.start(String(this.#port));
    this.#port = Number(new URL(this.url).port);
  }
}

mkdirSync(join(scratch, "fonts"), { recursive: true });
