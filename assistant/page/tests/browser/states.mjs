// How the page can stand. All values are invented for the Saltmarsh ferry depot; the wording is that of the shipped
// procedures, with their longest sentences.

/** The time at which all of these states stand still. */
export const AT_MS = Date.UTC(2026, 2, 4, 9, 30, 0);

const job = {
  name: "2026-03-04-front-half-shaft",
  title: "Front half-shaft replacement",
  vehicle: "all-wheel-drive van of the Saltmarsh ferry depot",
  rehearsal: false,
  recordings: false,
  by: "Mara",
  outcome: null,
};

const none = {
  version: 1, at_ms: AT_MS, job: null, step: null, warning: null, gate: null, question: null, size: null, torque: null,
  pattern: null, off: [], timers: [], heard: null, said: null, say_now: [], held: false, muted: false,
};

/** A circle of fasteners, fastener 1 at the top, clockwise, y downward. */
export function circle(count) {
  return Array.from({ length: count }, (_, k) => {
    const angle = (2 * Math.PI * k) / count;
    return { x: Math.sin(angle), y: -Math.cos(angle) };
  });
}

const atStep = {
  ...none,
  job,
  step: { number: 17, of: 62, text: "Free the speed-sensor lead from its clips along the knuckle.", kind: "remove" },
  off: [{ what: "wheel", state: "off" }, { what: "splash shield", state: "off" }, { what: "axle nut", state: "loose" }],
  heard: { words: "next", verdict: "understood", at_ms: AT_MS - 4000 },
  said: { tone: "step", text: "Free the speed-sensor lead from its clips along the knuckle." },
  say_now: ["next", "say again", "what size", "what torque", "why", "go back", "what's next", "hold on", "stop"],
};

const size = { label: "19 mm", shape: "hex", shape_name: "hex", across_flats_mm: 19, also: [] };
const torque = {
  told: "103 lbf·ft (140 N·m)", newton_metre: "140 N·m", foot_pound: "103 lbf·ft", value_newton_metre: 140, limits: null, added: null,
  no_wrench: null, passes: ["52 lbf·ft", "103 lbf·ft"], pass: null, angle: null,
  wrench: { name: "half-inch wrench", unit: "lbf·ft", least: 30, most: 150, setting: 103, warning: null },
};
const pattern = { name: "star", count: 5, order: [1, 3, 5, 2, 4], places: circle(5), next: null, done: 0 };

const tighten = {
  ...atStep,
  step: { number: 52, of: 62, text: "Tighten the 5 wheel nuts with the torque wrench, the wheel on the ground.", kind: "tighten" },
  size, torque, pattern,
  heard: { words: "what torque", verdict: "understood", at_ms: AT_MS - 4000 },
  said: { tone: "answer", text: "103 lbf·ft (140 N·m). In 2 passes: 52 lbf·ft, then 103 lbf·ft. In a star." },
};

const gate = {
  ...atStep,
  step: { number: 11, of: 62, text: "Hold point.", kind: "hold-point" },
  gate: {
    readback: "Both stands carry the weight and nothing moved when I pushed.",
    ask: "A van that falls will crush you. Look that each stand is upright, pinned and square under its pad. Shove the van hard from the side, twice. Nothing may creak or shift.",
    means: "the van stands on both stands and does not move",
    signal: "danger",
    varying_word: null,
  },
  heard: { words: "both stands do not carry the weight", verdict: "not-understood", at_ms: AT_MS - 2000 },
  said: { tone: "refusal", text: "I didn't catch that. Say: Both stands carry the weight and nothing moved when I pushed." },
  say_now: ["both stands carry the weight and nothing moved when i pushed", "not yet", "why", "stop"],
};

/** Each state by name. */
export const STATES = {
  "no-job": none,
  step: atStep,
  tighten,
  "tighten-pass": {
    ...tighten,
    torque: {
      ...torque, told: "110 N·m (81 lbf·ft)", newton_metre: "110 N·m", foot_pound: "81 lbf·ft", value_newton_metre: 110, passes: ["55 N·m", "110 N·m"], pass: 1, angle: "90°",
      wrench: { name: "long wrench of the bay", unit: "N·m", least: 40, most: 200, setting: 110, warning: "Calibration was due 2026-02-01." },
    },
    size: { ...size, label: "36 mm", shape: "twelve-point", shape_name: "twelve-point", across_flats_mm: 36, also: ["breaker bar", "long socket"] },
    pattern: { name: "criss-cross", count: 8, order: [1, 5, 3, 7, 2, 6, 4, 8], places: circle(8), next: 3, done: 2 },
    warning: { signal: "warning", text: "A jerk at the wrench can rock the van off its stands and crush you. Pull smoothly, kneeling outside its outline." },
  },
  loosen: {
    ...atStep,
    step: { number: 4, of: 62, text: "Loosen the axle nut by half a turn, with the breaker bar.", kind: "loosen" },
    warning: { signal: "caution", text: "An impact tool dents the bearing's races and throws chips at your eyes. Never use one on the axle nut." },
    size: { label: "13 mm", shape: "hex", shape_name: "hex", across_flats_mm: 13, also: [] },
  },
  gate,
  "gate-varying": {
    ...gate,
    gate: { ...gate.gate, readback: "I walked all around and nothing is under the van.", varying_word: "magenta", ask: "A van that comes down will crush what is under it. Walk once around it. Look underneath from both sides: no person, no tool, no lamp, no hand." },
    heard: null,
    said: null,
  },
  question: {
    ...atStep,
    step: { number: 44, of: 62, text: "Is the brake fluid between the marks on its reservoir?", kind: "ask" },
    question: { text: "Is the brake fluid between the marks on its reservoir?", answers: ["yes", "no"], number: null },
    say_now: ["yes", "no", "say again", "why", "stop"],
  },
  "timers-off": {
    ...atStep,
    timers: [{ what: "threadlocker sets", ends_at_ms: AT_MS + 272_000 }, { what: "brake cleaner dries", ends_at_ms: AT_MS + 41_000 }],
    off: ["wheel", "splash shield", "caliper", "speed-sensor lead", "ball joint", "half-shaft", "5 wheel nuts", "2 caliper bolts", "pinch bolt"].map((what) => ({ what, state: "off" })).concat([{ what: "castle nut while it seats the bearings", state: "loose" }]),
    heard: { words: "how long does it take", verdict: "asked", at_ms: AT_MS - 3000 },
    said: { tone: "question", text: "Did you say: how long is the wait?" },
  },
  held: { ...atStep, held: true, say_now: ["carry on", "stop"] },
  muted: { ...atStep, muted: true, heard: { words: "", verdict: "ignored", at_ms: AT_MS - 3000 } },
  closed: { ...none, job: { ...job, outcome: "finished" }, said: { tone: "answer", text: "Finished. Tighten again after 50 km: 5 wheel nuts." } },
  rehearsal: { ...atStep, job: { ...job, rehearsal: true, by: null } },
};

/** The level meter as it stands in the pictures. */
export const LEVEL = { rms_db: -24, noise_db: -48, speech: true, microphone: "microphone of the bay" };

const long =
  "Tighten the castle nut while it seats the bearings until the wrench clicks, turn the hub three times in both directions so that every roller finds its place, and then turn the nut back until the washer can be moved by hand with a screwdriver, without any force at all.";
const warned = STATES["tighten-pass"];

/** What is seldom or never so, and must still be whole: no pictures of these are kept. */
export const EXTREMES = {
  "a long step with everything": { ...warned, step: { number: 104, of: 128, text: long, kind: "tighten" } },
  "an inch size, no wrench that suits, twenty fasteners, all flags": {
    ...tighten,
    job: { ...job, rehearsal: true },
    held: true,
    muted: true,
    size: { label: "1 1/16 in", shape: "hex", shape_name: "hex", across_flats_mm: 26.9875, also: [] },
    torque: { ...torque, told: "12.5 N·m (9.2 lbf·ft)", newton_metre: "12.5 N·m", foot_pound: "9.2 lbf·ft", passes: [], angle: "90°", wrench: null, no_wrench: "None of your wrenches holds 12.5 N·m: the smallest begins at 20 N·m.", added: "plus the running torque 0.8 N·m", limits: "11.5–13.5 N·m" },
    pattern: { name: "star", count: 20, order: [1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19], places: circle(20), next: 13, done: 5 },
  },
  "a number is said back": { ...tighten, torque: null, pattern: null, size: { label: "6 mm", shape: "hex-socket", shape_name: "hex socket", across_flats_mm: 6, also: [] }, question: { text: "End float of the hub 0.12 mm. Is that right?", answers: ["yes", "no"], number: null } },
  "a castle nut": { ...atStep, size: { label: "41 mm", shape: "slotted", shape_name: "slotted", across_flats_mm: 41, also: [] } },
  "six lobes and a warning": { ...atStep, warning: warned.warning, size: { label: "T40", shape: "six-lobe", shape_name: "six-lobe", across_flats_mm: null, also: [] } },
  "the longest readback with a word besides, all flags": {
    ...gate,
    job: { ...job, rehearsal: true },
    muted: true,
    held: true,
    gate: { ...gate.gate, varying_word: "magenta" },
  },
  "a number is waited for": { ...atStep, step: { number: 33, of: 62, text: "Measure the end float of the hub.", kind: "measure" }, question: { text: "Measure the end float of the hub.", answers: [], number: "0.00 to 0.60 mm" } },
  "a question before the steps": { ...atStep, step: { number: null, of: null, text: "Steel rims or alloy rims?", kind: "choose" }, question: { text: "Steel rims or alloy rims?", answers: ["steel", "alloy"], number: null } },
  "a question before a job from recordings": { ...atStep, job: { ...job, recordings: true }, step: { number: null, of: null, text: "Steel rims or alloy rims?", kind: "choose" }, question: { text: "Steel rims or alloy rims?", answers: ["steel", "alloy"], number: null } },
  "a torque of four figures": { ...tighten, torque: { ...torque, told: "1050 N·m (774 lbf·ft)", newton_metre: "1050 N·m", foot_pound: "774 lbf·ft", wrench: { name: "long wrench", unit: "N·m", least: 300, most: 1500, setting: 1050, warning: null } } },
};
