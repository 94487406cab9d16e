// Running waits, counted down by the assistant's clock.

import { caption, h, part } from "./elements.js";
import { now } from "./feed.js";

/** What is left, as minutes and seconds; hours where there are any. */
export function left(milliseconds) {
  const seconds = Math.max(0, Math.ceil(milliseconds / 1000));
  const [hours, minutes, rest] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  const two = (n) => String(n).padStart(2, "0");
  return hours > 0 ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
}

/** Draws the waits, the one that ends first at the top. */
export function drawTimers({ timers }) {
  const sorted = [...(timers ?? [])].sort((a, b) => a.ends_at_ms - b.ends_at_ms);
  part(document.getElementById("timers"), sorted.length ? sorted : null, (waits) => [
    caption("Wait"),
    h("ul", { class: "fitted", "data-most": 4.4, "data-least": 1.7 }, waits.map(({ what, ends_at_ms: ends }) => h("li", {}, h("time", { "data-ends": ends, role: "timer" }, left(ends - now())), ` ${what}`)), h("li", { class: "more", hidden: true })),
  ]);
}

/** Counts down what is on the page; true when a wait has just ended and the letters need fitting. */
export function countDown() {
  let changed = false;
  for (const time of document.querySelectorAll("time[data-ends]")) {
    const remains = Number(time.dataset.ends) - now();
    const text = remains <= 0 ? "over" : left(remains);
    if (time.textContent !== text) {
      changed ||= text.length !== time.textContent.length;
      time.textContent = text;
    }
  }
  return changed;
}
