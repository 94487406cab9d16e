// How this bay is set up, to look at; it is changed where the assistant is started.

import { read } from "./asking.js";
import { h } from "./elements.js";
import { ask, showMuted } from "./switches.js";

const NAMES = { unit: "Unit of torque", voice: "Voice", mode: "Mode", microphone: "Microphone", answers: "Answers", ears: "Ears", version: "Version" };

/** The settings, and the two switches of the voice. */
export async function showSettings(main) {
  const settings = await read("/api/settings");
  const rows = Object.entries(NAMES).flatMap(([key, name]) => {
    const value = Array.isArray(settings[key]) ? settings[key].join(", ") : settings[key];
    return value === null || value === undefined || value === "" ? [] : [h("dt", {}, name), h("dd", {}, value)];
  });
  const told = h("p", { role: "status" });
  const repeat = h("button", { type: "button" }, "Say again");
  const mute = h("button", { type: "button", "aria-pressed": "false" }, "Mute");
  const press = async (what) => {
    told.textContent = (await ask(what)) ? "" : "It wasn't done: no job is running, the assistant doesn't answer, or this page wasn't opened by the address with the token.";
  };
  repeat.addEventListener("click", () => press("repeat"));
  mute.addEventListener("click", () => press(mute.getAttribute("aria-pressed") === "true" ? "unmute" : "mute"));
  follow(mute);
  main.replaceChildren(
    h("h1", {}, "This bay"),
    h("dl", {}, rows),
    h("h2", {}, "Voice"),
    h("p", { class: "links" }, repeat, mute),
    told,
    h("p", { class: "quiet" }, "A muted voice changes nothing else: a hold point still opens only by its own words, said aloud."),
  );
}

/** Whether the voice is muted is told by the glance. */
function follow(mute) {
  const source = new EventSource("/api/events");
  source.addEventListener("glance", ({ data }) => {
    try {
      showMuted(mute, JSON.parse(data).muted);
    } catch {
      // The next glance tells it.
    }
  });
}
