// A gate takes the whole page. Nothing here opens it: the words do, said aloud and heard.

import { flag, flags } from "./flags.js";
import { h, part, signal } from "./elements.js";
import { closeWhole } from "./whole.js";

/** More signs than these, and the words are set in light letters. */
const LONG = 36;

/** Draws the gate that holds the job, if one does. */
export function drawHold(glance) {
  const { gate, said, warning } = glance;
  document.body.classList.toggle("holds", Boolean(gate));
  if (gate) closeWhole();
  document.body.dataset.signal = gate?.signal ?? "";
  const lookAt = gate ? (gate.ask ?? warning?.text ?? (said?.tone === "hold" ? said.text : "")) : null;
  part(document.getElementById("hold"), gate ? [gate, lookAt, flags(glance)] : null, ([shown, ask, marks]) => [
    h(
      "div",
      { class: "hold-head" },
      h("h2", { class: "hold-word" }, shown.check ? "Check" : "Hold"),
      h("div", { class: "hold-why" }, h("div", { class: "hold-marks" }, shown.signal ? signal(shown.signal) : null, marks.map(flag)), h("div", { class: "fitted", "data-most": 3.4, "data-least": 1.6 }, h("p", {}, ask))),
    ),
    h("p", { class: "hold-bid" }, h("span", { class: "caption" }, shown.varying_word ? "When it is so, say aloud, then the check word" : "When it is so, say aloud")),
    h("div", { class: shown.readback.length + (shown.varying_word ?? "").length > LONG ? "fitted readback readback-long" : "fitted readback", "data-most": 15, "data-least": 3 }, h("p", {}, readback(shown))),
  ]);
}

/** The words as one sentence, for those who listen to the page. */
export function wordsAloud({ readback: words, varying_word: varying }) {
  return varying && !words.toLowerCase().includes(varying.toLowerCase()) ? `${bareOf(words)}, ${varying}` : words;
}

/** A full stop isn't said. */
const bareOf = (words) => words.replace(/[.]\s*$/, "");

/** The words, with the one that varies from time to time marked. */
function readback({ readback: words, varying_word: varying }) {
  const bare = bareOf(words);
  if (!varying) return [bare];
  const at = bare.toLowerCase().lastIndexOf(varying.toLowerCase());
  const framed = h("mark", {}, varying);
  if (at < 0) return [bare, " ", framed];
  return [bare.slice(0, at), framed, bare.slice(at + varying.length)];
}
