// The jobs on record, and one job's record as it grows.

import { clock, read, timeOfDay } from "./asking.js";
import { h, part } from "./elements.js";
import { photoForm } from "./photos.js";

const MANY = 50;

/** The list of jobs, newest first. What is searched for stands in the address, so that it can be kept and sent on. */
export async function showRecords(main) {
  const text = (new URLSearchParams(location.search).get("text") ?? "").trim();
  const list = h("ul", { class: "rows" });
  const older = h("button", { type: "button" }, "Older jobs");
  async function more(last) {
    const asked = new URLSearchParams({ limit: MANY });
    if (text !== "") asked.set("text", text);
    if (last !== null) asked.set("after", last);
    const jobs = await read(`/api/jobs?${asked}`);
    list.append(...jobs.map(row));
    older.hidden = jobs.length < MANY;
    older.onclick = () => more(jobs.at(-1).name).catch((error) => older.replaceWith(h("p", {}, error.message)));
    return jobs.length;
  }
  const [count, lost] = [await more(null), await read("/api/lost")];
  const none = text === "" ? "No job is on record yet." : `No job has “${text}” on its record.`;
  main.replaceChildren(h("h1", {}, "Jobs"), ...damage(lost), searchForm(text), count === 0 ? h("p", {}, none) : list, older);
}

/** What can't be read of damaged records. */
function damage(lost) {
  if (lost.length === 0) return [];
  const advice = "These records are damaged. What can still be read is listed below; “sayback repair” brings it into a new folder.";
  return [h("section", { role: "alert" }, h("p", {}, advice), h("ul", {}, ...lost.map((it) => h("li", {}, it))))];
}

function searchForm(text) {
  const form = h(
    "form",
    { role: "search" },
    h("label", { for: "text" }, "Name, person, vehicle or words on the record"),
    h("input", { type: "search", id: "text", name: "text", maxlength: 200, value: text }),
    h("button", {}, "Search"),
    text === "" ? null : h("a", { href: "/jobs" }, "All jobs"),
  );
  // The page's policy lets no form be sent; this only goes to another address.
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    location.assign(`/jobs?${new URLSearchParams({ text: form.elements.text.value })}`);
  });
  return form;
}

/** One job of the list. */
export function row(job) {
  return h(
    "li",
    {},
    h("a", { href: `/jobs/${encodeURIComponent(job.name)}` }, job.title),
    h("span", {}, [clock(job.started_ms), job.by, job.vehicle].filter(Boolean).join(" · ")),
    h("span", { class: "marks" }, standing(job), unproved(job, "")),
  );
}

/** The stamp of a job that proves no work. */
function unproved(job, besides) {
  const word = job.rehearsal ? "rehearsal" : job.recordings ? "from recordings" : null;
  return word ? h("b", { class: "stamp stamp-rehearsal" }, `${word}${besides}`) : null;
}

function standing({ outcome, ended_ms: ended }) {
  if (outcome === "finished") return h("b", { class: "stamp" }, "finished");
  if (outcome) return h("b", { class: "stamp stamp-abandoned" }, "given up");
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
    h("p", {}, [vehicle, by, clock(job.started_ms), job.ended_ms ? `to ${clock(job.ended_ms)}` : null].filter(Boolean).join(" · ")),
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
