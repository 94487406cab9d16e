// The order of tightening. Shape and number tell the next fastener, not colour: it is a square, the others are round.

import { s } from "./elements.js";

/** More lines than this across a circle only hide one another. */
const MOST_LINES = 12;

/** Draws the fasteners in their places, each with its rank in the order; null where there is nothing to draw. */
export function drawPattern({ order, places, next, count }) {
  if (!order?.length || places?.length < order.length) return null;
  const xs = places.map(({ x }) => x);
  const ys = places.map(({ y }) => y);
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const span = Math.max(right - left, bottom - top, 0.001);
  const scale = 160 / span;
  const put = ({ x, y }) => [(x - left) * scale, (y - top) * scale];
  const points = order.map((number) => put(places[number - 1] ?? places[0]));
  const radius = Math.min(22, nearest(points) * 0.44);
  const nextRank = next === null || next === undefined ? 0 : order.indexOf(next);
  const known = next !== null && next !== undefined;
  const margin = radius * 1.4;
  return s(
    "svg",
    {
      class: "pattern",
      viewBox: [-margin, -margin, (right - left) * scale + 2 * margin, (bottom - top) * scale + 2 * margin].map((v) => v.toFixed(1)).join(" "),
      role: "img",
      "aria-label": `${count} fasteners, seen from the front, fastener 1 at the top. Order: ${order.join(", ")}.`,
    },
    points.length > 1 && points.length <= MOST_LINES
      ? s("polyline", { class: "pattern-way", points: points.map((p) => p.map((c) => c.toFixed(1)).join(",")).join(" ") })
      : null,
    points.map(([x, y], rank) => {
      const state = rank === nextRank ? "next" : known && rank < nextRank ? "done" : "open";
      return s("g", { class: `pattern-${state}` }, token(state, x, y, radius), number(rank + 1, x, y, radius));
    }),
  );
}

function token(state, x, y, radius) {
  if (state !== "next") return s("circle", { cx: x.toFixed(1), cy: y.toFixed(1), r: radius.toFixed(1) });
  const half = radius * 1.15;
  return s("rect", { x: (x - half).toFixed(1), y: (y - half).toFixed(1), width: (2 * half).toFixed(1), height: (2 * half).toFixed(1) });
}

function number(rank, x, y, radius) {
  const size = radius * (rank > 9 ? 1.15 : 1.4);
  return s("text", { x: x.toFixed(1), y: (y + size * 0.36).toFixed(1), "font-size": size.toFixed(1), "text-anchor": "middle" }, String(rank));
}

function nearest(points) {
  let least = 160;
  points.forEach(([x, y], i) => points.slice(0, i).forEach(([u, v]) => {
    least = Math.min(least, Math.hypot(x - u, y - v));
  }));
  return Math.max(least, 1);
}
