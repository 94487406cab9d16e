// The glance: follows the job and shows how it stands.

import { drawBoard, drawSizes } from "./board.js";
import { fitAll } from "./fit.js";
import { follow } from "./feed.js";
import { drawHold, wordsAloud } from "./hold.js";
import { drawLevel } from "./level.js";
import { showMuted, themeSwitch, voiceSwitches } from "./switches.js";
import { countDown, drawTimers } from "./timers.js";
import { closeWhole } from "./whole.js";

const by = (id) => document.getElementById(id);

function fitNow() {
  fitAll();
  drawSizes();
}

function draw(glance) {
  drawBoard(glance);
  drawTimers(glance);
  drawHold(glance);
  document.body.dataset.state = glance.gate ? "hold" : glance.job === null ? "idle" : glance.job.outcome ? "closed" : "work";
  document.body.dataset.at = glance.at_ms;
  document.body.classList.toggle("rehearses", Boolean(glance.job?.rehearsal || glance.job?.recordings));
  document.body.classList.toggle("paused", Boolean(glance.held));
  showMuted(by("mute"), glance.muted);
  // Without a job there is nothing to say again and nobody to mute.
  for (const id of ["repeat", "mute"]) by(id).hidden = glance.job === null;
  tell(glance);
  fitNow();
}

/** What a screen reader says: the step when it has changed, a gate at once. */
function tell({ job, step, gate, question, warning }) {
  const at = step?.number ? `Step ${step.number} of ${step.of}. ` : "";
  const warned = warning ? `${warning.signal}: ${warning.text} ` : "";
  const polite = gate || !job ? "" : `${at}${warned}${step?.text ?? ""} ${question?.text ?? ""}`.trim();
  const urgent = gate ? `${gate.check ? "Check." : "Hold point."} ${gate.signal ?? ""} ${gate.ask ?? ""} When it is so, say aloud: ${wordsAloud(gate)}` : "";
  if (by("aloud").textContent !== polite) by("aloud").textContent = polite;
  if (by("at-once").textContent !== urgent) by("at-once").textContent = urgent;
}

let lostAt = null;

function lost() {
  if (lostAt !== null) return;
  lostAt = Date.now();
  closeWhole();
  document.body.dataset.link = "lost";
  by("lost").replaceChildren(
    Object.assign(document.createElement("strong"), { textContent: "Not connected" }),
    Object.assign(document.createElement("span"), { textContent: "What you see may be old." }),
  );
}

function live() {
  lostAt = null;
  document.body.dataset.link = "live";
  by("lost").replaceChildren();
}

voiceSwitches(by("repeat"), by("mute"));
themeSwitch(by("theme"));
// Whatever changes the room of the letters, such as the meter that comes or a phone that is turned, fits them anew.
const rooms = new ResizeObserver(() => requestAnimationFrame(fitNow));
for (const room of document.querySelectorAll("#job, main, main > section, #tiles, .tile, .cell")) rooms.observe(room);
addEventListener("beforeprint", fitNow);
document.fonts?.ready.then(fitNow);
setInterval(() => {
  if (countDown()) fitNow();
}, 250);
follow({ glance: draw, level: drawLevel, live, lost });
