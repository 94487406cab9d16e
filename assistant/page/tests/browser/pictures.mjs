// Pictures of the page, compared with kept ones.

import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { PNG } from "./parts.mjs";

const KEPT = new URL("pictures/", import.meta.url).pathname;
/** Pixels on the longer side of what is kept: small enough for the repository, large enough to see each part. */
const LONGER = 400;
/** A pixel differs when one of its colours is further off than this, of 255. */
const COLOUR = 40;
/** So many of a thousand pixels may differ: edges of letters do, from one build of the browser to the next. */
const SHARE = 8;

/** Each pixel of the smaller picture is the mean of those it stands for. */
function smaller({ width, height, data }) {
  const by = Math.max(1, Math.max(width, height) / LONGER);
  const small = new PNG({ width: Math.round(width / by), height: Math.round(height / by) });
  for (let y = 0; y < small.height; y += 1) {
    for (let x = 0; x < small.width; x += 1) {
      const sum = [0, 0, 0];
      let count = 0;
      const [bottom, right] = [Math.min(height, Math.ceil((y + 1) * by)), Math.min(width, Math.ceil((x + 1) * by))];
      for (let v = Math.floor(y * by); v < bottom; v += 1) {
        for (let u = Math.floor(x * by); u < right; u += 1) {
          const at = (v * width + u) * 4;
          for (let c = 0; c < 3; c += 1) sum[c] += data[at + c];
          count += 1;
        }
      }
      const to = (y * small.width + x) * 4;
      // Sixteen shades make a smaller file and hide nothing that the tolerance would show.
      for (let c = 0; c < 3; c += 1) small.data[to + c] = Math.round(sum[c] / count / 17) * 17;
      small.data[to + 3] = 255;
    }
  }
  return small;
}

function differing(one, other) {
  let count = 0;
  for (let at = 0; at < one.data.length; at += 4) {
    if ([0, 1, 2].some((c) => Math.abs(one.data[at + c] - other.data[at + c]) > COLOUR)) count += 1;
  }
  return (count * 1000) / (one.width * one.height);
}

/**
 * Compares a screenshot with the kept picture of that name; gives what is wrong, or null. With UPDATE_PICTURES=1 it
 * is kept instead. What differs is put into `folder`, to be looked at.
 */
export function compare(name, screenshot, folder) {
  const small = smaller(PNG.sync.read(screenshot));
  const path = join(KEPT, `${name}.png`);
  if (process.env.UPDATE_PICTURES === "1") {
    mkdirSync(KEPT, { recursive: true });
    writeFileSync(path, PNG.sync.write(small, { colorType: 2, deflateLevel: 9 }));
    return statSync(path).size > 150_000 ? `${path} is larger than 150 kB` : null;
  }
  if (!existsSync(path)) return `there is no picture ${path}; look at the page, then run this with UPDATE_PICTURES=1`;
  const kept = PNG.sync.read(readFileSync(path));
  const share = kept.width === small.width && kept.height === small.height ? differing(kept, small) : 1000;
  if (share <= SHARE) return null;
  mkdirSync(folder, { recursive: true });
  const seen = join(folder, `${name}.png`);
  writeFileSync(seen, screenshot);
  return `${share.toFixed(1)} of a thousand pixels differ from ${path}; the page as it is now: ${seen}`;
}
