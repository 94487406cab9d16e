// Letters as large as their box allows. Nothing is cut: what doesn't fit gets smaller, and a list that still doesn't
// fit says how many of its lines it leaves out.

/** One hundredth of the board's width, in pixels; the unit that all sizes are given in. */
function unit() {
  const rule = document.createElement("div");
  rule.className = "unit";
  document.body.append(rule);
  const width = rule.getBoundingClientRect().width / 100;
  rule.remove();
  return width;
}

const overflows = (box) => box.scrollHeight > box.clientHeight + 1 || box.scrollWidth > box.clientWidth + 1;

/** The smallest letters, in pixels, before a list leaves lines out. */
const LEAST = 9;

/**
 * Fits every element that has `data-most`, the largest size of its letters in units of the board, and every single
 * line that has `data-line`, of which only the width counts.
 */
export function fitAll(root = document) {
  const one = unit();
  for (const box of root.querySelectorAll("[data-most]")) {
    if (box.clientHeight > 0) fit(box, one);
  }
  for (const line of root.querySelectorAll("[data-line]")) {
    line.style.fontSize = "";
    const [needs, has] = [line.scrollWidth, line.clientWidth];
    if (has > 0 && needs > has) line.style.fontSize = `${(parseFloat(getComputedStyle(line).fontSize) * has) / needs}px`;
  }
}

function fit(box, one) {
  const more = box.querySelector(":scope > .more");
  const lines = [...box.children].filter((line) => line !== more);
  for (const line of lines) line.hidden = false;
  if (more) more.hidden = true;
  const most = Number(box.dataset.most) * one;
  const least = Math.min(most, Math.max(LEAST, Number(box.dataset.least ?? 0) * one));
  if (fits(box, most)) return;
  if (!fits(box, least)) {
    if (more) {
      leaveOut(box, lines, more);
      return;
    }
    largest(box, 4, least);
    return;
  }
  largest(box, least, most);
}

function fits(box, size) {
  box.style.fontSize = `${size}px`;
  return !overflows(box);
}

/** The largest size between one that fits and one that doesn't, to a quarter of a pixel. */
function largest(box, low, high) {
  while (high - low > 0.25) {
    const middle = (low + high) / 2;
    if (fits(box, middle)) low = middle;
    else high = middle;
  }
  box.style.fontSize = `${low}px`;
}

function leaveOut(box, lines, more) {
  more.hidden = false;
  for (let kept = lines.length - 1; kept > 0; kept -= 1) {
    lines[kept].hidden = true;
    more.textContent = `and ${lines.length - kept} more`;
    if (!overflows(box)) return;
  }
}
