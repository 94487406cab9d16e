// What must be known about a job all the time: that it proves nothing, that it is paused, that the voice is muted.

import { SILENT, h, icon } from "./elements.js";

const FLAGS = {
  rehearsal: ["Rehearsal", "proves nothing"],
  recordings: ["From recordings", "proves nothing"],
  paused: ["Paused", "say “carry on”"],
  muted: ["Voice muted", "read here"],
};

/** The names of the flags that are up. */
export function flags({ job, held, muted }) {
  const unproved = job?.rehearsal ? "rehearsal" : job?.recordings ? "recordings" : null;
  return [unproved, held ? "paused" : null, muted ? "muted" : null].filter(Boolean);
}

/** One of them, drawn: each has a frame of its own kind. */
export function flag(name) {
  const [word, besides] = FLAGS[name];
  return h("p", { class: `flag flag-${name}` }, name === "muted" ? icon(SILENT) : null, word, h("small", {}, besides));
}
