// Asks the assistant for data.

/** What it answers, or an error in its own words. */
export async function read(path) {
  let answer;
  try {
    answer = await fetch(path, { headers: { Accept: "application/json" } });
  } catch {
    throw new Error("The assistant doesn't answer. Look whether it still runs on its machine.");
  }
  if (!answer.ok) throw new Error(await wordsOf(answer));
  return answer.json();
}

/** What an answer says of why it isn't what was asked for (RFC 9457). */
export async function wordsOf(answer) {
  try {
    const { title, detail } = await answer.json();
    return [title, detail].filter(Boolean).join(": ") || `The assistant refused it (${answer.status}).`;
  } catch {
    return `The assistant refused it (${answer.status}).`;
  }
}

/** Date and time as the shop's clock has them. */
export function clock(milliseconds) {
  const at = new Date(milliseconds);
  const two = (n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
}

/** The same to the second, without the date. */
export function timeOfDay(milliseconds) {
  const at = new Date(milliseconds);
  return [at.getHours(), at.getMinutes(), at.getSeconds()].map((n) => String(n).padStart(2, "0")).join(":");
}
