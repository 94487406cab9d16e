// Makes elements from data. Text always goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

/** An HTML element with attributes and children. A child may be a node, text, a list, or null, which is left out. */
export function h(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/** The same in SVG. */
export function s(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
  return element;
}

/** An icon that is drawn with the text's colour and read by nobody: words stand beside it. */
export function icon(path) {
  return s("svg", { viewBox: "0 0 24 24", "aria-hidden": "true", class: "icon" }, s("path", { d: path, fill: "currentColor", "fill-rule": "evenodd" }));
}

/** The triangle with the exclamation mark, the safety alert symbol. */
export const ALERT = "M12 1.500 23.500 22H.500ZM10.700 8.500H13.300L13 15.500H11ZM10.700 17H13.300V19.500H10.700Z";
/** Ticked off. */
export const TICK = "M12 1A11 11 0 1 1 12 23A11 11 0 1 1 12 1ZM10.200 17.500 19 8.500 17.200 6.700 10.200 13.900 6.800 10.500 5 12.300Z";
/** Crossed out. */
export const CROSS = "M3 1H21L23 3V21L21 23H3L1 21V3ZM8 6.200 6.200 8 10.200 12 6.200 16 8 17.800 12 13.800 16 17.800 17.800 16 13.800 12 17.800 8 16 6.200 12 10.200Z";
/** Passed over. */
export const DASH = "M12 2A10 10 0 1 1 12 22A10 10 0 1 1 12 2ZM12 4.500A7.500 7.500 0 1 0 12 19.500A7.500 7.500 0 1 0 12 4.500ZM7 10.800H17V13.200H7Z";
/** A loudspeaker that is crossed out. */
export const SILENT = "M2 8.500H6.500L13 3V21L6.500 15.500H2ZM15.200 8.200 17 6.400 19.500 8.900 22 6.400 23.800 8.200 21.300 10.700 21.300 13.300 23.800 15.800 22 17.600 19.500 15.100 17 17.600 15.200 15.800 17.700 13.300V10.700Z";

/** A small tag that names what stands beneath it. */
export function caption(text) {
  return h("h2", { class: "caption" }, text);
}

/** The signal word with its symbol; "notice" has none. */
export function signal(word) {
  return h("strong", { class: `signal signal-${word}` }, word === "notice" ? null : icon(ALERT), word);
}

/**
 * Draws a part anew only when what it shows has changed, so that a screen reader isn't told the same twice and
 * nothing flickers. `build` gives the children, or null where there is nothing to show.
 */
export function part(element, shown, build) {
  const key = JSON.stringify(shown);
  if (element.dataset.shown === key) return false;
  element.dataset.shown = key;
  const children = shown === null || shown === undefined ? null : build(shown);
  element.hidden = children === null;
  element.replaceChildren(...(children ?? []).flat(Infinity).filter((child) => child !== null && child !== undefined));
  return true;
}
