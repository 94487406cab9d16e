// The level meter: whether the microphone lives, and whether it takes what it hears for speech.

import { h } from "./elements.js";

const LOWEST_DB = -60;

const share = (db) => Math.min(1, Math.max(0, (db - LOWEST_DB) / -LOWEST_DB));

/** Draws the level, up to ten times a second, so nothing is built anew. */
export function drawLevel(level) {
  const meter = document.getElementById("level");
  if (!meter.firstChild) {
    meter.append(h("span", { class: "level-word" }), h("span", { class: "level-track" }, h("span", { class: "level-now" }), h("span", { class: "level-noise" })));
  }
  meter.hidden = false;
  const [word, track] = meter.children;
  const text = level.microphone ? (level.speech ? "hears speech" : "listens") : "no microphone";
  if (word.textContent !== text) word.textContent = text;
  meter.dataset.speech = String(Boolean(level.speech && level.microphone));
  meter.setAttribute("aria-valuenow", String(Math.round(Math.max(LOWEST_DB, Math.min(0, level.rms_db ?? LOWEST_DB)))));
  meter.setAttribute("aria-valuetext", text);
  track.children[0].style.transform = `scaleX(${share(level.rms_db ?? LOWEST_DB).toFixed(3)})`;
  track.children[1].hidden = typeof level.noise_db !== "number";
  track.children[1].style.left = `${(100 * share(level.noise_db ?? LOWEST_DB)).toFixed(1)}%`;
}
