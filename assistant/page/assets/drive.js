// The drive drawn to scale, as it is seen from the front.

import { s } from "./elements.js";

/** The scales that a drive may be drawn to, as drawn and true length: the largest that has room is taken. */
const SCALES = [[12, 1], [10, 1], [8, 1], [6, 1], [5, 1], [4, 1], [3, 1], [2, 1], [3, 2], [1, 1], [3, 4], [1, 2], [1, 4]];
/** CSS millimetres: 96 pixels are an inch of 25.4 mm. */
export const PIXELS_PER_MM = 96 / 25.4;
/** A drive of this width is to fill its box; so drives up to it are all drawn at one scale, and can be compared. */
const USUAL_MM = 19;

/** The corner circle's radius of a regular hexagon with `flats` across its flats. */
const corner = (flats) => flats / Math.sqrt(3);

function ring(count, radius, start = 0) {
  return Array.from({ length: count }, (_, k) => {
    const angle = start + (k * 2 * Math.PI) / count;
    return [radius(k) * Math.cos(angle), radius(k) * Math.sin(angle)];
  });
}

const outline = (points) => `M${points.map(([x, y]) => `${x.toFixed(3)} ${y.toFixed(3)}`).join("L")}Z`;

/** A path in millimetres about the middle, and the box that it fills. Flats lie above and below. */
function shapeOf(shape, flats) {
  const hexagon = outline(ring(6, () => corner(flats)));
  const hexBox = { width: 2 * corner(flats), height: flats };
  switch (shape) {
    case "hex":
      return { path: hexagon, box: hexBox };
    case "hex-socket": {
      const radius = flats * 0.72;
      const round = `M${-radius} 0A${radius} ${radius} 0 1 0 ${radius} 0A${radius} ${radius} 0 1 0 ${-radius} 0Z`;
      return { path: hexagon, round, box: { width: 2 * radius, height: 2 * radius } };
    }
    case "twelve-point": {
      // Two hexagons, one turned by 30°: their edges, all half the flats from the middle, cross 15° from each corner.
      const inner = flats / 2 / Math.cos(Math.PI / 12);
      const points = ring(24, (k) => (k % 2 === 0 ? corner(flats) : inner));
      return { path: outline(points), box: { width: 2 * corner(flats), height: 2 * corner(flats) } };
    }
    case "slotted": {
      // The slots of a castle nut lie across its flats; their width here is a tenth of the flats.
      const slots = Array.from({ length: 6 }, (_, k) => {
        const turn = ((k * 60 + 30) * Math.PI) / 180;
        return [0.39, 0.52].map((r) => [Math.cos(turn), Math.sin(turn)].map((c) => (c * r * flats).toFixed(3)).join(" ")).join("L");
      });
      return { path: hexagon, slots: `M${slots.join("M")}`, slotWidth: flats / 10, box: hexBox };
    }
    case "square":
      return { path: outline([[-flats / 2, -flats / 2], [flats / 2, -flats / 2], [flats / 2, flats / 2], [-flats / 2, flats / 2]]), box: { width: flats, height: flats } };
    default:
      return null;
  }
}

/** Six lobes, as ISO 10664 has them; its size is a number and no width, so it isn't drawn to scale. */
function lobes() {
  const points = ring(72, (k) => 10 + 1.6 * Math.cos((6 * k * 2 * Math.PI) / 72));
  return { path: outline(points), box: { width: 24, height: 24 } };
}

/**
 * Draws a drive into a room of `width` and `height` pixels, around something of the size `within` where that is given.
 * Gives the drawing and how many times its true size it is (null where it isn't to scale); or null where it has no
 * room or there is nothing to draw.
 */
export function drawDrive(shape, flats, width, height, within = null) {
  if (shape === "six-lobe") {
    const size = Math.min(width, height) * 0.95;
    return within !== null && size * 0.66 < Math.hypot(within.width, within.height) ? null : finished(lobes(), size / 24 / PIXELS_PER_MM, null);
  }
  if (!(flats > 0)) return null;
  const drawn = shapeOf(shape, flats);
  if (drawn === null) return null;
  const times = ([drawnLength, trueLength]) => drawnLength / trueLength;
  const fits = (scale, box) => box.width * times(scale) * PIXELS_PER_MM <= width && box.height * times(scale) * PIXELS_PER_MM <= height;
  const usual = shapeOf("hex", USUAL_MM).box;
  const scale = SCALES.find((each) => fits(each, drawn.box) && fits(each, usual)) ?? SCALES.find((each) => fits(each, drawn.box));
  if (scale === undefined) return null;
  if (within !== null && !encloses(flats * times(scale) * PIXELS_PER_MM, within)) return null;
  return finished(drawn, times(scale), times(scale));
}

/** Whether a hexagon with flats above and below, so far apart in pixels, has room for a box in its middle. */
function encloses(flats, { width, height }) {
  const margin = 6;
  return height / 2 + margin <= flats / 2 && width / 2 + height / 2 / Math.sqrt(3) + margin <= corner(flats);
}

function finished({ path, round, slots, slotWidth, box }, scale, told) {
  const svg = s(
    "svg",
    {
      class: "drive",
      "aria-hidden": "true",
      width: `${box.width * scale}mm`,
      height: `${box.height * scale}mm`,
      viewBox: `${-box.width / 2} ${-box.height / 2} ${box.width} ${box.height}`,
      overflow: "visible",
    },
    round ? s("path", { d: round, class: "drive-round" }) : null,
    s("path", { d: path, class: "drive-edge" }),
    slots ? s("path", { d: slots, class: "drive-slots-edge", "stroke-width": slotWidth * 1.4 }) : null,
    slots ? s("path", { d: slots, class: "drive-slots", "stroke-width": slotWidth }) : null,
  );
  return { svg, scale: told };
}
