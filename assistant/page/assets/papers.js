// The papers: jobs, a job's record, vehicles, procedures, how this bay is set up. Nothing here can be done to a job.

import { h } from "./elements.js";
import { showProcedure, showProcedures } from "./procedures.js";
import { showRecord, showRecords } from "./records.js";
import { showSettings } from "./settings.js";
import { themeSwitch } from "./switches.js";
import { showVehicle, showVehicles } from "./vehicles.js";

/** What the address asks for: how it is shown, and a name in it where there is one. */
function asked(path) {
  const [kind, name, ...more] = path.split("/").filter(Boolean).map(decoded);
  if (more.length > 0) return null;
  switch (kind) {
    case "jobs":
      return name === undefined ? showRecords : (main) => showRecord(main, name);
    case "vehicles":
      return name === undefined ? showVehicles : (main) => showVehicle(main, name);
    case "procedures":
      return name === undefined ? showProcedures : (main) => showProcedure(main, name);
    case "settings":
      return name === undefined ? showSettings : null;
    default:
      return null;
  }
}

function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

themeSwitch(document.getElementById("theme"));
for (const link of document.querySelectorAll("nav a")) {
  const own = link.getAttribute("href");
  if (own !== "/" && (location.pathname === own || location.pathname.startsWith(`${own}/`))) link.setAttribute("aria-current", "page");
}

const main = document.getElementById("main");
const show = asked(location.pathname);
if (show === null) {
  main.replaceChildren(h("h1", {}, "There is no such page"), h("p", {}, h("a", { href: "/jobs" }, "To the jobs")));
} else {
  try {
    await show(main);
  } catch (error) {
    main.replaceChildren(h("h1", {}, "It can't be shown"), h("p", {}, error.message), h("p", {}, h("a", { href: location.pathname }, "Try again")));
  }
}
document.title = `${main.querySelector("h1")?.textContent ?? "Papers"} · Sayback`;
