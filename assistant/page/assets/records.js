// The jobs on record, and one job's record as it grows.

import { clock, read, timeOfDay } from "./asking.js";
import { h, part } from "./elements.js";
import { photoForm } from "./photos.js";

/** The address of a vehicle's page. */
export const pageOf = (vehicle) => `/vehicles/${encodeURIComponent(vehicle)}`;

const MANY = 50;

/** What may be searched for besides words, and how it is entered. */
const FIELDS = [
  ["text", "Any words", "search"],
  ["vehicle", "Vehicle", "search"],
  ["person", "Person", "search"],
  ["procedure", "Procedure", "select"],
  ["from", "From", "date"],
  ["to", "To", "date"],
];

/** The list of jobs, newest first. What is searched for stands in the address, so that it can be kept and sent on. */
export async function showRecords(main) {
  const address = new URLSearchParams(location.search);
  const given = FIELDS.map(([name]) => [name, (address.get(name) ?? "").trim()]);
  const wanted = Object.fromEntries(given.filter(([, words]) => words !== ""));
  const list = h("ul", { class: "rows" });
  const older = h("button", { type: "button" }, "Older jobs");
  async function more(last) {
    const asked = new URLSearchParams({ limit: MANY, ...asTheServerHasThem(wanted) });
    if (last !== null) asked.set("after", last);
    const jobs = await read(`/api/jobs?${asked}`);
    list.append(...jobs.map(row));
    older.hidden = jobs.length < MANY;
    older.onclick = () => more(jobs.at(-1).name).catch((error) => older.replaceWith(h("p", {}, error.message)));
    return jobs.length;
  }
  const [count, lost, procedures] = [await more(null), await read("/api/lost"), await read("/api/procedures")];
  const none = Object.keys(wanted).length === 0 ? "No job is on record yet." : "No job on record is like that.";
  main.replaceChildren(h("h1", {}, "Jobs"), ...damage(lost), searchForm(wanted, procedures), count === 0 ? h("p", {}, none) : list, older);
}

/** Days as the moments at which they begin and end by the shop's clock. */
function asTheServerHasThem({ from, to, ...words }) {
  const midnight = (day, later) => {
    const [year, month, date] = day.split("-").map(Number);
    const at = new Date(year, month - 1, date + later).getTime();
    // What is no day asks for nothing, as what is left out.
    return Number.isFinite(at) && at >= 0 ? at : null;
  };
  const times = { from: from ? midnight(from, 0) : null, before: to ? midnight(to, 1) : null };
  return { ...words, ...Object.fromEntries(Object.entries(times).filter(([, at]) => at !== null)) };
}

/** What can't be read of damaged records. */
function damage(lost) {
  if (lost.length === 0) return [];
  const advice = "These records are damaged. What can still be read is listed below; “sayback repair” brings it into a new folder.";
  return [h("section", { role: "alert" }, h("p", {}, advice), h("ul", {}, ...lost.map((it) => h("li", {}, it))))];
}

function searchForm(wanted, procedures) {
  const form = h(
    "form",
    { role: "search" },
    FIELDS.map(([name, label, kind]) => h("label", { for: name }, label, field(name, kind, wanted[name] ?? "", procedures))),
    h("button", {}, "Search"),
    Object.keys(wanted).length === 0 ? null : h("a", { href: "/jobs" }, "All jobs"),
  );
  // The page's policy lets no form be sent; this only goes to another address.
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const filled = FIELDS.map(([name]) => [name, form.elements[name].value.trim()]).filter(([, value]) => value !== "");
    location.assign(`/jobs?${new URLSearchParams(filled)}`);
  });
  return form;
}

function field(name, kind, value, procedures) {
  if (kind !== "select") return h("input", { type: kind, id: name, name, maxlength: kind === "search" ? 200 : null, value });
  const known = procedures.some(({ id }) => id === value) || value === "" ? procedures : [{ id: value, title: value }, ...procedures];
  const options = known.map(({ id, title }) => h("option", { value: id, selected: id === value }, title));
  return h("select", { id: name, name }, h("option", { value: "" }, "any"), options);
}

/** One job of the list. */
export function row(job) {
  return h(
    "li",
    {},
    h("a", { href: `/jobs/${encodeURIComponent(job.name)}` }, job.title),
    h("span", {}, [clock(job.started_ms), job.by, job.vehicle].filter(Boolean).join(" · ")),
    h("span", { class: "marks" }, standing(job), unproved(job, "")),
    job.waiting ? h("span", {}, missing(job.waiting)) : null,
  );
}

/** What a job waits for, and since when. */
function missing({ part, since_ms: since }) {
  return `Missing: ${part ?? "a part"}, since ${clock(since)}`;
}

/** The stamp of a job that proves no work. */
function unproved(job, besides) {
  const word = job.rehearsal ? "rehearsal" : job.recordings ? "from recordings" : null;
  return word ? h("b", { class: "stamp stamp-rehearsal" }, `${word}${besides}`) : null;
}

function standing({ outcome, ended_ms: ended, waiting }) {
  if (outcome === "finished") return h("b", { class: "stamp" }, "finished");
  if (outcome) return h("b", { class: "stamp stamp-abandoned" }, "given up");
  if (waiting) return h("b", { class: "stamp stamp-open" }, "waiting for a part");
  return h("b", { class: "stamp stamp-open" }, ended ? "left open" : "open");
}

/** One job's record; it grows while it is looked at. */
export async function showRecord(main, name) {
  const path = `/api/jobs/${encodeURIComponent(name)}`;
  const head = h("div", {});
  const entries = h("ol", { class: "entries", "aria-label": "What is on the record" });
  const verified = h("p", {});
  const proof = h("ol", { class: "proof-lines" });
  async function draw() {
    const record = await read(path);
    part(head, [record.job, record.vehicle, record.by, record.whole, record.verified], () => heading(record, path));
    // What is there stays, so that a photo that is being chosen isn't lost; a record only grows.
    for (const entry of record.entries.slice(entries.children.length)) {
      entries.append(line(entry, name));
      proof.append(h("li", {}, entry.proof));
    }
    verified.textContent = record.verified;
    return record;
  }
  const first = await draw();
  main.replaceChildren(head, entries, h("details", { class: "proof" }, h("summary", {}, "Proof"), h("p", {}, `Record ${name}`), verified, proof));
  if (!first.job.outcome) grow(draw, name);
}

/** Draws anew when the job that is being worked has moved on, at most twice a second. */
function grow(draw, name) {
  const live = document.getElementById("live");
  const source = new EventSource("/api/events");
  let waiting = null;
  source.addEventListener("glance", ({ data }) => {
    live.textContent = "";
    if (waiting !== null || !data.includes(JSON.stringify(name))) return;
    waiting = setTimeout(() => {
      waiting = null;
      draw().catch((error) => {
        live.textContent = error.message;
      });
    }, 500);
  });
  source.onerror = () => {
    live.textContent = "Not connected: what you see may be old.";
  };
}

function heading({ job, vehicle, by, whole, verified }, path) {
  const sound = whole ?? verified ?? true;
  return [
    h("h1", {}, job.title),
    h("p", { class: "marks" }, standing(job), unproved(job, ", proves nothing")),
    vehicle ? h("p", {}, h("a", { href: pageOf(vehicle) }, vehicle)) : null,
    h("p", {}, [by, clock(job.started_ms), job.ended_ms ? `to ${clock(job.ended_ms)}` : null].filter(Boolean).join(" · ")),
    job.waiting ? h("p", {}, missing(job.waiting)) : null,
    sound ? null : h("p", { class: "alarm", role: "alert" }, "This record was changed after it was written. Trust nothing in it."),
    h(
      "p",
      { class: "links" },
      h("a", { class: "button", href: `${path}/report` }, "Report"),
      ["pdf", "csv", "json"].map((kind) => h("a", { class: "button", href: `${path}/report.${kind}`, download: true }, kind.toUpperCase())),
    ),
  ];
}

function line(entry, name) {
  return h(
    "li",
    { class: `entry entry-${entry.kind}` },
    h("time", { datetime: new Date(entry.at_ms).toISOString() }, timeOfDay(entry.at_ms)),
    h("p", {}, entry.text),
    typeof entry.note === "number" ? photoForm(name, entry.note) : null,
  );
}
