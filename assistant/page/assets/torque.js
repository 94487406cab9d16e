// The torque and the wrench for it.

import { caption, h, part } from "./elements.js";
import { drawDial } from "./dial.js";

const by = (id) => document.getElementById(id);
const signalMark = () => h("b", { class: "mark", "aria-hidden": "true" }, "!");

/** The technician's own unit is the one that is told first. */
function units({ told, newton_metre: metric, foot_pound: inch }) {
  const first = String(told ?? metric);
  const inchFirst = first.includes(inch) && (!first.includes(metric) || first.indexOf(inch) < first.indexOf(metric));
  return inchFirst ? [inch, metric] : [metric, inch];
}

/** The torque of the pass that is being worked, where another one comes after it: it is what counts now. */
function passNow({ passes, pass }) {
  return passes?.length > 1 && pass >= 1 && pass < passes.length ? passes[pass - 1] : null;
}

/** What is set now, large; in both units what it is in the end. */
export function torque({ torque: shown }) {
  part(by("torque"), shown ?? null, (at) => {
    const [own, other] = units(at);
    const now = passNow(at);
    const [figure, ...unit] = (now ?? own).split(" ");
    return [
      caption(at.passes?.length > 1 && at.pass ? `Torque, pass ${at.pass} of ${at.passes.length}` : "Torque"),
      h("p", { class: "big", "data-line": true }, h("span", { class: "figure" }, figure)),
      h("p", { class: "units", "data-line": true }, h("b", {}, unit.join(" ")), now === null ? ` = ${other}` : " in this pass"),
      h("div", { class: "fitted below", "data-most": 2.9 }, details(at, now === null ? null : `${own} = ${other}`)),
    ];
  });
}

function details({ passes, pass, angle, added, limits }, inTheEnd) {
  return [
    inTheEnd === null ? null : h("p", {}, `in the end ${inTheEnd}`),
    passes?.length > 1
      ? h("p", { class: "passes" }, passes.map((each, k) => h("span", { class: k + 1 === pass ? "pass pass-now" : "pass", "aria-current": k + 1 === pass ? "step" : null }, h("b", {}, `${k + 1}`), ` ${each}`)))
      : null,
    angle ? h("p", {}, `then a further turn of ${angle}`) : null,
    added ? h("p", {}, added) : null,
    limits ? h("p", {}, `limits ${limits}`) : null,
  ];
}

/** The wrench that suits, set; or why none does. */
export function wrench({ torque: at }) {
  part(by("wrench"), at?.wrench ? [at.wrench, markNow(at)] : (at?.no_wrench ?? null), (shown) => {
    if (typeof shown === "string") {
      return [caption("Wrench"), h("div", { class: "fitted none-suits", "data-most": 3 }, h("p", { class: "heed" }, signalMark(), shown))];
    }
    const [tool, mark] = shown;
    return [
      caption("Wrench"),
      h("div", { class: "picture" }, drawDial({ ...tool, setting: mark })),
      h("div", { class: "fitted below", "data-most": 2.5 }, h("p", {}, tool.name), mark === null ? h("p", {}, `in the end at ${tool.setting} ${tool.unit}`) : null, tool.warning ? h("p", { class: "heed" }, signalMark(), tool.warning) : null),
    ];
  });
}

/**
 * The mark to set now. In an earlier pass it is that pass's torque, where the wrench shows torque as it is; with an
 * adapter, or in another unit, the mark of that pass isn't known here, and none is drawn rather than a wrong one.
 */
function markNow(at) {
  const now = passNow(at);
  if (now === null) return at.wrench.setting;
  const [value, unit] = now.split(" ");
  const [last] = at.passes.at(-1).split(" ");
  return unit === at.wrench.unit && Number(last) === at.wrench.setting ? Number(value) : null;
}
