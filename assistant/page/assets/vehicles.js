// The vehicles that jobs on record are about, and one vehicle: what is due, its jobs, what was measured.

import { clock, read } from "./asking.js";
import { h } from "./elements.js";
import { pageOf, row } from "./records.js";

const jobLink = (name, text) => h("a", { href: `/jobs/${encodeURIComponent(name)}` }, text);

/** The vehicles, the one that was worked on last first. */
export async function showVehicles(main) {
  const vehicles = await read("/api/vehicles");
  const rows = vehicles.map(({ name, jobs, open, last_ms: last }) =>
    h(
      "li",
      {},
      h("a", { href: pageOf(name) }, name),
      h("span", {}, `${jobs === 1 ? "1 job" : `${jobs} jobs`}, the last begun ${clock(last)}`),
      open > 0 ? h("span", { class: "marks" }, h("b", { class: "stamp stamp-open" }, `${open} open`)) : null,
    ),
  );
  main.replaceChildren(h("h1", {}, "Vehicles"), rows.length === 0 ? h("p", {}, "No job on record names a vehicle yet.") : h("ul", { class: "rows" }, rows));
}

/** One vehicle. */
export async function showVehicle(main, name) {
  const vehicle = await read(`/api/vehicle?${new URLSearchParams({ name })}`);
  const { due, jobs, older, measured } = vehicle;
  main.replaceChildren(
    h("h1", {}, vehicle.name),
    h("h2", {}, "Due"),
    due.length === 0 ? h("p", {}, "Nothing is due by what is on record.") : h("ul", { class: "plain-list" }, due.map(dueLine)),
    h("h2", {}, "Jobs"),
    h("ul", { class: "rows" }, jobs.map(row)),
    older > 0 ? h("p", { class: "quiet" }, `and ${older} older`) : null,
    h("h2", {}, "Measured last"),
    measured.length === 0 ? h("p", {}, "Nothing was measured in a job that proves work.") : table(measured),
  );
}

function dueLine({ what, since_ms: since, job }) {
  return h("li", {}, what, " ", jobLink(job, `since ${clock(since)}`));
}

function table(measured) {
  const head = ["Reading", "Value", "Limits", "When"].map((name) => h("th", { scope: "col" }, name));
  const rows = measured.map(({ name, value, limits, within, at_ms: at, job }) =>
    h(
      "tr",
      {},
      h("th", { scope: "row" }, name),
      h("td", {}, value, within ? null : h("b", { class: "stamp" }, "out of limits")),
      h("td", {}, limits ?? ""),
      h("td", {}, jobLink(job, clock(at))),
    ),
  );
  return h("table", {}, h("thead", {}, h("tr", {}, head)), h("tbody", {}, rows));
}
