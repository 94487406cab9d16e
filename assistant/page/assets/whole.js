// A list that has no room for all its lines says how many it leaves out; a press opens the whole of it.

import { h } from "./elements.js";

let open = null;

/** The last line of such a list; `name` is what the list is called. Its count is set by `fit.js`. */
export function moreLine(name) {
  const button = h("button", { type: "button", class: "more-count" });
  button.addEventListener("click", () => {
    const lines = [...button.closest("ul").children].filter((line) => !line.classList.contains("more"));
    show(name, lines.map((line) => line.textContent));
  });
  return h("li", { class: "more", hidden: true }, button);
}

/** Closes what was opened: something came that must be seen. */
export function closeWhole() {
  open?.close();
}

function show(name, lines) {
  closeWhole();
  const close = h("button", { type: "button" }, "Close");
  const dialog = h("dialog", { class: "whole", "aria-label": name }, h("h2", {}, name), h("ul", {}, lines.map((text) => h("li", {}, text))), close);
  close.addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", () => {
    dialog.remove();
    if (open === dialog) open = null;
  });
  document.body.append(dialog);
  open = dialog;
  dialog.showModal();
}
