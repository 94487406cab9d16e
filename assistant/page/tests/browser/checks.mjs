// Counts what is well and tells what isn't.

let well = 0;
const amiss = [];

/** Runs one check; it gives what is wrong, as a sentence, a list of them, or null. */
export async function check(name, run) {
  let faults;
  try {
    faults = [await run()].flat().filter((fault) => fault !== null && fault !== undefined);
  } catch (error) {
    faults = [error.message];
  }
  if (faults.length === 0) {
    well += 1;
    return;
  }
  amiss.push(name);
  console.log(`amiss: ${name}`);
  for (const fault of faults) console.log(`  ${fault}`);
}

/** Tells the outcome and ends: with 0 when all is well, else with 1. */
export function end() {
  console.log(`${well} checks well, ${amiss.length} amiss`);
  process.exit(amiss.length === 0 && well > 0 ? 0 : 1);
}
