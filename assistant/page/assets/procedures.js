// The procedures, to read beforehand.

import { read } from "./asking.js";
import { h, signal } from "./elements.js";

/** What there is. */
export async function showProcedures(main) {
  const procedures = await read("/api/procedures");
  const rows = procedures.map(({ id, title, vehicle, steps }) =>
    h("li", {}, h("a", { href: `/procedures/${encodeURIComponent(id)}` }, title), h("span", {}, vehicle), h("span", { class: "marks" }, `${steps} steps`)),
  );
  main.replaceChildren(h("h1", {}, "Procedures"), rows.length === 0 ? h("p", {}, "There is no procedure.") : h("ul", { class: "rows" }, rows));
}

/** One procedure: what to be careful of, its drawing, its steps. */
export async function showProcedure(main, id) {
  const shown = await read(`/api/procedures/${encodeURIComponent(id)}`);
  main.replaceChildren(
    h("h1", {}, shown.title),
    h("p", {}, shown.vehicle),
    h("p", { class: "alarm" }, shown.values),
    h("p", {}, "The maker's service information, local codes and licensed practice come first."),
    ...(shown.cautions?.length ? [h("h2", {}, "Be careful"), h("ul", { class: "plain-list" }, shown.cautions.map((text) => h("li", {}, text)))] : []),
    ...(shown.order ? [h("h2", {}, "Order of tightening"), h("img", { class: "drawing", src: shown.order, alt: "The order in which the fasteners are tightened: each shows its number in the order." })] : []),
    h("h2", {}, "Steps"),
    h("ol", { class: "steps" }, shown.steps.map(step)),
    h("h2", {}, "Drawing"),
    h("img", { class: "drawing wide", src: shown.picture, alt: "The steps in order, with lines from where something comes off to where it goes back, and from where something is confirmed to where that ends. The list above has all of it but the lines." }),
  );
}

function step({ number, kind, text, warning, readback, only_for: onlyFor }) {
  const gate = kind === "hold-point" || kind === "check";
  return h(
    "li",
    { class: gate ? "gate" : null },
    h("b", { class: "step-number" }, number),
    h(
      "div",
      {},
      onlyFor?.length ? h("p", { class: "only" }, `only for: ${onlyFor.join(", ")}`) : null,
      warning ? h("p", {}, signal(warning.signal), " ", warning.text) : null,
      gate ? h("p", {}, h("b", { class: "stamp" }, kind.replace("-", " ")), " ", text) : h("p", {}, text),
      readback ? h("p", { class: "say-aloud" }, "Say aloud: ", h("q", {}, readback)) : null,
    ),
  );
}
