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

/** What each box held, and how large it was, when it was fitted: the same again needs no fitting. */
const fitted = new WeakMap();

const standing = (box, one) => `${box.clientWidth} ${box.clientHeight} ${one} ${box.style.fontSize} ${box.textContent}`;

const overflows = (box) => box.scrollHeight > box.clientHeight + 1 || box.scrollWidth > box.clientWidth + 1;

/** The smallest letters, in pixels, before a list leaves lines out; other text gets smaller rather than cut. */
const LEAST = 9;
const SMALLEST = 4;
/** From one size that is tried to the next. */
const STEP = 0.96;

/**
 * Fits every element that has `data-most`, the largest size of its letters in units of the board, and every single
 * line that has `data-line`, of which only the width counts.
 */
export function fitAll(root = document) {
  const one = unit();
  for (const box of root.querySelectorAll("[data-most]")) {
    if (box.clientHeight === 0 || fitted.get(box) === standing(box, one)) continue;
    fit(box, one);
    fitted.set(box, standing(box, one));
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
  const guess = guessed(box, most);
  if (more && !fits(box, least)) {
    leaveOut(box, lines, more);
    return;
  }
  largest(box, guess, most);
}

/** About how large the letters can be, from how much they are too large: text in lines grows both ways. */
function guessed(box, size) {
  const tall = box.clientHeight / Math.max(box.scrollHeight, 1);
  const wide = box.clientWidth / Math.max(box.scrollWidth, 1);
  return Math.max(SMALLEST, size * Math.min(1, tall < 1 ? Math.sqrt(tall) * 1.1 : wide));
}

function fits(box, size) {
  box.style.fontSize = `${size}px`;
  return !overflows(box);
}

/**
 * From a guess in small steps up or down to the border between what fits and what doesn't. Where lines break
 * differently a larger size can fit though a smaller one doesn't, so halving alone would miss it.
 */
function largest(box, guess, most) {
  let low = guess;
  let high = guess / STEP;
  if (fits(box, low)) {
    while (high < most && fits(box, high)) {
      low = high;
      high /= STEP;
    }
  } else {
    do {
      high = low;
      low *= STEP;
    } while (low > SMALLEST && !fits(box, low));
  }
  for (let half = 0; half < 2; half += 1) {
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
    more.firstElementChild.textContent = `and ${lines.length - kept} more`;
    if (!overflows(box)) return;
  }
}
