// A photo for a note. What is chosen is checked here, to say at once what is wrong; the assistant checks it again,
// encodes it anew and leaves out where it was taken.

import { wordsOf } from "./asking.js";
import { h } from "./elements.js";

const MOST_BYTES = 10 * 1024 * 1024;

/** What the first bytes say it is, whatever its name says. */
function kindOf(bytes) {
  const starts = (...signature) => signature.every((byte, k) => bytes[k] === byte);
  if (starts(0xff, 0xd8, 0xff)) return "image/jpeg";
  if (starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return "image/png";
  return null;
}

/** Why a file can't be taken, or its media type. */
export async function checked(file) {
  if (file.size > MOST_BYTES) return { amiss: `The photo has ${(file.size / 1024 / 1024).toFixed(1)} MB; 10 MB is the most. Take it with fewer pixels.` };
  const kind = kindOf(new Uint8Array(await file.slice(0, 8).arrayBuffer()));
  return kind === null ? { amiss: "This is no JPEG and no PNG. Choose a photo of one of these kinds." } : { kind };
}

/** The field that adds a photo to a note. */
export function photoForm(job, note) {
  const told = h("span", { role: "status" });
  const field = h("input", { type: "file", accept: "image/jpeg,image/png" });
  field.addEventListener("change", async () => {
    const [file] = field.files;
    if (!file) return;
    field.disabled = true;
    told.textContent = "One moment …";
    told.textContent = await sent(job, note, file);
    field.disabled = false;
    field.value = "";
  });
  return h("label", { class: "photo" }, `Add a photo to note ${note}`, field, told);
}

async function sent(job, note, file) {
  const { amiss, kind } = await checked(file);
  if (amiss) return amiss;
  try {
    const answer = await fetch(`/api/jobs/${encodeURIComponent(job)}/notes/${note}/photo`, { method: "POST", headers: { "Content-Type": kind }, body: file });
    return answer.ok ? "Kept. The report shows it." : await wordsOf(answer);
  } catch {
    return "The assistant doesn't answer, so the photo isn't kept. Try again when it runs.";
  }
}
