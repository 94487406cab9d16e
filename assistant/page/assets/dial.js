// The wrench's range as a dial, with the mark to set.

import { s } from "./elements.js";

const FROM = 135;
const SWEEP = 270;
const MIDDLE = 100;

const at = (degrees, radius) => {
  const angle = (degrees * Math.PI) / 180;
  return [MIDDLE + radius * Math.cos(angle), MIDDLE + radius * Math.sin(angle)];
};
const point = (degrees, radius) => at(degrees, radius).map((c) => c.toFixed(2)).join(" ");

function arc(from, to, radius) {
  return `M${point(from, radius)}A${radius} ${radius} 0 ${to - from > 180 ? 1 : 0} 1 ${point(to, radius)}`;
}

/** A step between marks that gives five to twelve of them: 1, 2 or 5 times a power of ten. */
export function markStep(least, most) {
  const rough = (most - least) / 12;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((k) => k * power).find((step) => step >= rough * 0.999);
}

/** A number as it is printed on a scale. */
export function plain(value) {
  return String(Number(Number(value).toFixed(2)));
}

/** Draws the dial, without a needle where no mark is known; gives null where the range makes no sense. */
export function drawDial({ least, most, setting, unit }) {
  if (!(most > least)) return null;
  const turn = (value) => FROM + (SWEEP * (value - least)) / (most - least);
  const outside = setting === null || setting < least || setting > most;
  const step = markStep(least, most);
  const marks = [];
  for (let value = Math.ceil(least / step) * step; value <= most + step / 1000; value += step) {
    marks.push(s("path", { d: `M${point(turn(value), 78)}L${point(turn(value), 90)}`, class: "dial-mark" }));
  }
  const needle = turn(Math.min(Math.max(setting ?? least, least), most));
  const [[x1, y1], [x2, y2]] = [at(FROM, 84), at(FROM + SWEEP, 84)];
  return s(
    "svg",
    {
      class: "dial",
      viewBox: "2 4 196 186",
      role: "img",
      "aria-label": `${plain(least)} to ${plain(most)} ${unit}${setting === null ? "" : `, set ${plain(setting)} ${unit}`}`,
    },
    s("path", { d: arc(FROM, FROM + SWEEP, 84), class: "dial-range" }),
    outside ? null : s("path", { d: arc(FROM, Math.max(needle, FROM + 0.1), 84), class: "dial-set" }),
    marks,
    outside ? null : s("path", { d: `M${point(needle, 56)}L${point(needle - 7, 97)}L${point(needle + 7, 97)}Z`, class: "dial-needle" }),
    s("text", { x: MIDDLE, y: 112, class: "dial-setting" }, setting === null ? "" : plain(setting)),
    s("text", { x: MIDDLE, y: 140, class: "dial-unit" }, unit),
    s("text", { x: x1 + 6, y: y1 + 24, class: "dial-end" }, plain(least)),
    s("text", { x: x2 - 6, y: y2 + 24, class: "dial-end" }, plain(most)),
  );
}
