// The parts of the board: what is at hand, large enough to be read from the floor.

import { CROSS, DASH, TICK, caption, h, icon, part, signal } from "./elements.js";
import { drawDrive } from "./drive.js";
import { flag, flags } from "./flags.js";
import { idleJobs } from "./idle.js";
import { drawPattern } from "./pattern.js";
import { torque, wrench } from "./torque.js";
import { moreLine } from "./whole.js";

const by = (id) => document.getElementById(id);

/** Draws all that the glance holds but the gate. */
export function drawBoard(glance) {
  place(glance);
  job(glance);
  warning(glance);
  step(glance);
  question(glance);
  size(glance);
  torque(glance);
  wrench(glance);
  pattern(glance);
  off(glance);
  heard(glance);
  sayNow(glance);
  const tiles = [...document.querySelectorAll(".tile")].filter((tile) => !tile.hidden).length;
  by("tiles").hidden = tiles === 0;
  document.body.dataset.tiles = String(tiles);
  document.body.dataset.warned = String(glance.warning !== null && glance.warning !== undefined);
}

/** Where the job stands when it stands at no numbered step. */
function standing({ job: current, step: at }) {
  if (current === null) return "No job";
  if (current.outcome) return current.outcome === "finished" ? "Finished" : "Given up";
  switch (at?.kind) {
    case "choose":
    case "lay-out":
      return "Before the job";
    case "end":
      return "All steps done";
    default:
      return "Extra step";
  }
}

/** More letters than these take two lines in the head. */
const SHORT = 9;

/** The number of the step, and of how many. */
function place(glance) {
  const { job: current, step: at } = glance;
  const numbered = current !== null && !current.outcome && typeof at?.number === "number";
  by("place").classList.toggle("words", !numbered);
  by("place").classList.toggle("many", !numbered && standing(glance).length > SHORT);
  part(by("place"), numbered ? [at.number, at.of ?? null] : standing(glance), (shown) =>
    Array.isArray(shown)
      ? [h("span", { class: "unseen" }, "Step "), h("span", { class: "number" }, shown[0]), shown[1] === null ? null : h("span", { class: "of" }, ` of ${shown[1]}`)]
      : [h("span", {}, shown)],
  );
}

/** Which job, whose, and what must be known about it all the time. */
function job(glance) {
  const { job: current } = glance;
  part(by("job"), [current?.title ?? null, current?.vehicle, current?.by, flags(glance)], ([title, vehicle, person, up]) => [
    up.length > 0 ? h("div", { class: "flags" }, up.map(flag)) : null,
    title === null || (up.length > 1 && matchMedia("(orientation: landscape)").matches)
      ? null
      : h("div", { class: "fitted named", "data-most": 2.7, "data-least": 1.2 }, h("p", { class: "title" }, title), h("p", { class: "vehicle" }, [vehicle, person].filter(Boolean).join(" · "))),
  ]);
}

function warning({ warning: shown }) {
  part(by("warning"), shown ?? null, ({ signal: word, text }) => [signal(word), h("p", { class: "fitted", "data-most": 4.6 }, h("span", {}, text))]);
}

function step({ job: current, step: at, said, question: asked }) {
  const text = current === null ? "" : current.outcome ? closing(current) : (at?.text ?? said?.text ?? "");
  // A question that is the step itself is shown once.
  const shown = current !== null && (!asked || asked.text !== text) && text !== "" ? text : null;
  part(by("step"), shown, (words) => [
    h("div", { class: "fitted", "data-most": 9.6, "data-least": 2.4 }, h("p", {}, words), current?.outcome ? papersOf(current) : null),
  ]);
  idleJobs(by("idle"), current === null);
}

function closing({ outcome, title }) {
  return outcome === "finished" ? `${title}: finished and closed.` : `${title}: given up and closed. The vehicle was left safe.`;
}

function papersOf({ name }) {
  return h("p", { class: "aside" }, h("a", { href: `/jobs/${encodeURIComponent(name)}` }, "Record and report"));
}

function question({ question: shown }) {
  part(by("question"), shown ?? null, ({ text, answers, number }) => [
    h("div", { class: "fitted", "data-most": 8, "data-least": 2.4 }, h("p", {}, text)),
    h(
      "p",
      { class: "answers" },
      h("span", { class: "caption" }, "Say"),
      answers?.length ? answers.map((answer) => h("b", {}, answer)) : h("b", {}, number ? `a number, ${number}` : "the answer"),
    ),
  ]);
}

function size({ size: shown }) {
  part(by("size"), shown ?? null, ({ label, shape, shape_name: shapeName, across_flats_mm: flats, also }) => {
    // The unit is what stands last: "1 1/16 in".
    const [, number, unit] = /^(.*\S)\s+(\S+)$/.exec(label) ?? [null, label, ""];
    // A plain hexagon is seen; any other form is named.
    const rest = [shape === "hex" ? null : (shapeName ?? shape), ...(also ?? [])].filter(Boolean);
    return [
      caption("Size"),
      h(
        "div",
        { class: "drawn", "data-shape": shape, "data-flats": flats ?? "" },
        h("p", { class: "big" }, h("span", { class: "figure" }, number)),
        h("p", { class: "unit-name" }, unit),
      ),
      rest.length ? h("p", { class: "fitted below", "data-most": 2.5 }, h("span", {}, rest.join(" · "))) : null,
    ];
  });
}

/** Draws the drive around its number, or beside it where it is too small for that. Called once the room is known. */
export function drawSizes() {
  const room = document.querySelector("#size .drawn");
  if (!room || room.clientHeight === 0) return;
  room.querySelectorAll(".drive, .scale").forEach((old) => old.remove());
  const { shape, flats } = room.dataset;
  const figure = room.querySelector(".figure");
  figure.style.fontSize = "";
  // A long size such as "1 1/16" leaves room for the drawing beside it.
  const most = figure.textContent.length > 3 ? 0.6 * room.clientWidth : room.clientWidth - 4;
  if (figure.offsetWidth > most) figure.style.fontSize = `${(parseFloat(getComputedStyle(figure).fontSize) * most) / figure.offsetWidth}px`;
  const [width, height] = [figure.offsetWidth, 0.74 * parseFloat(getComputedStyle(figure).fontSize)];
  const around = drawDrive(shape, Number(flats), room.clientWidth, room.clientHeight, { width, height });
  const drive = around ?? drawDrive(shape, Number(flats), room.clientWidth - width - 16, room.clientHeight);
  room.dataset.around = String(around !== null);
  if (drive === null) return;
  room.prepend(drive.svg);
  room.append(h("p", { class: "scale" }, scaleInWords(drive.scale)));
}

function scaleInWords(scale) {
  if (scale === null) return "not to scale";
  if (scale === 1) return "drawn at its true size";
  return scale > 1 ? `drawn ${scale} times its size` : `drawn at ${100 * scale} % of its size`;
}

const PATTERNS = { star: "star", "criss-cross": "criss-cross", "in-turn": "in turn, one beside the other,", spiral: "from the middle out" };

function pattern({ pattern: shown }) {
  part(by("pattern"), shown ?? null, (order) => [
    caption("Order"),
    h("div", { class: "picture" }, drawPattern(order)),
    h("p", { class: "fitted below", "data-most": 2.4 }, h("span", {}, h("b", { class: "next-key" }, order.next ? "next" : "first"), ` ${PATTERNS[order.name] ?? order.name} of ${order.count}`)),
  ]);
}

/** What is off, what is only loose, and so on, each kind together. */
function off({ off: shown }) {
  part(by("off"), shown?.length ? shown : null, (things) => [
    caption(`Not in place: ${things.length}`),
    h(
      "ul",
      { class: "fitted things", "data-most": 3, "data-least": 1.3 },
      [...new Set(things.map(({ state }) => state))].flatMap((state) =>
        things.filter((thing) => thing.state === state).map(({ what }, k) => h("li", {}, k === 0 ? h("b", { class: state === "off" ? "state" : "state state-half" }, state) : h("span", { class: "unseen" }, `${state} `), what)),
      ),
      moreLine("Not in place"),
    ),
  ]);
}

const VERDICTS = {
  understood: [TICK, "understood"],
  asked: [null, "asked back"],
  "not-understood": [CROSS, "not understood"],
  ignored: [DASH, "not for me"],
};

/** What was heard and what was made of it, and the answer. */
function heard({ heard: shown, said }) {
  const answer = said && ["answer", "refusal", "question"].includes(said.tone) ? said : null;
  part(by("heard"), shown || answer ? [shown ?? null, answer] : null, ([words, told]) => {
    const [mark, verdict] = VERDICTS[words?.verdict] ?? [DASH, words?.verdict ?? ""];
    return [
      caption(words ? "Heard" : "Said"),
      h(
        "div",
        { class: "fitted", "data-most": 3, "data-least": 1.1 },
        words ? h("p", {}, words.words ? h("q", {}, words.words) : "Talk in the room", " ", h("b", { class: `verdict verdict-${words.verdict}` }, mark === null ? h("b", { class: "mark mark-asked", "aria-hidden": "true" }, "?") : icon(mark), verdict)) : null,
        told ? h("p", { class: "answer" }, told.text) : null,
      ),
    ];
  });
}

function sayNow({ say_now: phrases, gate }) {
  part(by("say"), phrases?.length && !gate ? phrases : null, (spoken) => [
    caption("Say"),
    h("ul", { class: "fitted phrases", "data-most": 3, "data-least": 1.4 }, spoken.map((phrase) => h("li", {}, phrase)), moreLine("What can be said now")),
  ]);
}
