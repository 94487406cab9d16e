// Read from the floor: how large the main things are on a 10-inch tablet 4 m away.
//
// ISO 9241-303 asks for characters of at least 16 minutes of arc, better 20 to 22 (values from memory); the height is
// that of a capital letter. The tangent does the rest.

import { TABLET_MM, SCREENS, bring, open } from "../screens.mjs";
import { capitalHeight } from "../seen.mjs";
import { STATES } from "../states.mjs";

const DISTANCE_MM = 4000;
const LEAST_MINUTES = 16;
/** A readback is a whole sentence of up to 61 letters, with a colour besides: larger, it can't be seen whole. */
const READBACK_MINUTES = 13.5;

const minutes = (millimetres) => (Math.atan(millimetres / DISTANCE_MM) * 180 * 60) / Math.PI;

export default async function legible({ browser, assistant, check }) {
  const page = await open(browser, "tablet");
  const millimetre = SCREENS.tablet[0] / TABLET_MM.width;
  const main = [
    ["step", "#place .number", LEAST_MINUTES],
    ["tighten", "#place .number", LEAST_MINUTES],
    ["tighten", "#size .figure", LEAST_MINUTES],
    ["tighten", "#torque .figure", LEAST_MINUTES],
    ["tighten-pass", "#size .figure", LEAST_MINUTES],
    ["tighten-pass", "#torque .figure", LEAST_MINUTES],
    ["gate", ".hold-word", LEAST_MINUTES],
    ["gate", ".readback p", READBACK_MINUTES],
    ["gate-varying", ".readback p", READBACK_MINUTES],
    ["gate-varying", ".readback mark", READBACK_MINUTES],
    ["held", "#place .number", LEAST_MINUTES],
    ["rehearsal", "#place .number", LEAST_MINUTES],
  ];
  for (const [state, selector, least] of main) {
    await check(`${selector} of ${state} is read from 4 m`, async () => {
      await bring(page, assistant, STATES[state]);
      const high = (await capitalHeight(page, selector)) / millimetre;
      return minutes(high) < least ? `${high.toFixed(1)} mm are ${minutes(high).toFixed(1)} minutes of arc, less than ${least}` : null;
    });
  }
  await check("in an earlier pass its own torque is the large one, and the dial's", async () => {
    const seen = () => page.evaluate(() => [document.querySelector("#torque .figure").textContent, document.querySelector("#wrench .dial-setting").textContent, document.querySelector("#wrench .dial-needle") !== null].join(" "));
    const state = STATES["tighten-pass"];
    const wanted = [
      [{}, "55 55 true"],
      [{ pass: 2 }, "110 110 true"],
      [{ pass: null }, "110 110 true"],
      // With an adapter the mark of the pass isn't known, and none is shown.
      [{ wrench: { ...state.torque.wrench, setting: 94 } }, "55  false"],
      [{ pass: 2, wrench: { ...state.torque.wrench, setting: 94 } }, "110 94 true"],
    ];
    const faults = [];
    for (const [change, all] of wanted) {
      await bring(page, assistant, { ...state, torque: { ...state.torque, ...change } });
      if ((await seen()) !== all) faults.push(`${JSON.stringify(change)} shows ${await seen()}`);
    }
    return faults;
  });
  await check("the drive is drawn to the scale that stands beside it", async () => {
    const faults = [];
    for (const [state, flats] of [["tighten", 19], ["loosen", 13]]) {
      await bring(page, assistant, STATES[state]);
      const [drawn, scale] = await page.evaluate(() => [document.querySelector("#size .drive-edge").getBoundingClientRect().height, document.querySelector("#size .scale").textContent]);
      const [, times] = /^drawn (\d+(?:\.\d+)?) times its size$/.exec(scale) ?? [];
      if (times === undefined) {
        faults.push(`the scale is told as “${scale}”`);
        continue;
      }
      // A CSS inch is 96 pixels of 25.4 mm (CSS Values and Units, level 4).
      const wanted = ((flats * Number(times)) / 25.4) * 96;
      if (Math.abs(drawn - wanted) > 1) faults.push(`${flats} mm ${scale} are ${wanted.toFixed(1)} pixels, drawn are ${drawn.toFixed(1)}`);
    }
    return faults;
  });
  await page.context().close();
}
