// Without a job the board shows the jobs on record.

import { read } from "./asking.js";
import { h } from "./elements.js";
import { row } from "./records.js";

const MANY = 20;

/** Shows the newest jobs while none is being worked. They are asked for once each time that a job has gone. */
export async function idleJobs(place, idle) {
  if (idle === !place.hidden) return;
  place.hidden = !idle;
  if (!idle) return;
  const told = h("p", {}, "One moment …");
  place.replaceChildren(h("p", {}, "No job is running. It is shown here as soon as one is begun by voice."), h("h2", {}, "Jobs on record"), told);
  try {
    const jobs = await read(`/api/jobs?limit=${MANY}`);
    if (jobs.length === 0) told.textContent = "No job is on record yet.";
    else told.replaceWith(h("ul", { class: "rows" }, jobs.map(row)), h("p", {}, h("a", { href: "/jobs" }, "All jobs, and search")));
  } catch (error) {
    told.textContent = error.message;
  }
}
