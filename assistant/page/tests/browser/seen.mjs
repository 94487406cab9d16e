// What can be told of a page without looking at it: that nothing is cut off, hidden or on top of something else.

/** Everything that is wrong with how the board's text lies, as sentences. */
export function layoutFaults(page) {
  return page.evaluate(() => {
    const faults = [];
    if (document.documentElement.scrollHeight > innerHeight + 1 || document.documentElement.scrollWidth > innerWidth + 1) {
      faults.push(`the page scrolls: ${document.documentElement.scrollWidth}×${document.documentElement.scrollHeight}`);
    }
    const unseen = (element) => {
      if (element.closest("[hidden], noscript") !== null || getComputedStyle(element).visibility === "hidden") return true;
      for (let box = element; box; box = box.parentElement) if (getComputedStyle(box).clipPath === "inset(50%)") return true;
      return false;
    };
    for (const box of document.querySelectorAll(".fitted")) {
      if (box.clientHeight > 0 && (box.scrollHeight > box.clientHeight + 2 || box.scrollWidth > box.clientWidth + 2)) {
        faults.push(`the text of ${box.parentElement.id || box.className} needs ${box.scrollWidth}×${box.scrollHeight} of ${box.clientWidth}×${box.clientHeight}`);
      }
    }
    const texts = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      if (node.data.trim() === "" || unseen(node.parentElement)) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const rect of range.getClientRects()) {
        if (rect.width < 1 || rect.height < 1) continue;
        // In a drawing the style's size is in the drawing's own units.
        const drawn = node.parentElement.closest("svg") !== null;
        const size = drawn ? rect.height * 0.85 : parseFloat(getComputedStyle(node.parentElement).fontSize);
        // From the top of a capital letter to the line it stands on, about.
        const middle = (rect.top + rect.bottom) / 2;
        const ink = { left: rect.left + 1, right: rect.right - 1, top: middle - size * 0.3, bottom: middle + size * 0.3 };
        texts.push({ node, ink, words: node.data.trim().slice(0, 30) });
        if (ink.left < -1 || ink.right > innerWidth + 1 || ink.top < -1 || ink.bottom > innerHeight + 1) faults.push(`“${node.data.trim()}” lies outside the screen`);
        if (size < (drawn ? 7 : 8.5)) faults.push(`“${node.data.trim()}” has letters of ${size.toFixed(1)} pixels`);
        for (let box = node.parentElement; box && box !== document.body; box = box.parentElement) {
          const clips = getComputedStyle(box);
          if (clips.overflowX === "visible" && clips.overflowY === "visible") continue;
          const edge = box.getBoundingClientRect();
          if (ink.left < edge.left - 1 || ink.right > edge.right + 1 || ink.top < edge.top - 1 || ink.bottom > edge.bottom + 1) faults.push(`“${node.data.trim()}” is cut off by ${box.id || box.className}`);
        }
      }
    }
    for (const [k, one] of texts.entries()) {
      for (const other of texts.slice(0, k)) {
        if (one.node === other.node) continue;
        const across = Math.min(one.ink.right, other.ink.right) - Math.max(one.ink.left, other.ink.left);
        const down = Math.min(one.ink.bottom, other.ink.bottom) - Math.max(one.ink.top, other.ink.top);
        if (across > 2 && down > 2) faults.push(`“${one.words}” lies on “${other.words}”`);
      }
    }
    return faults;
  });
}

/** The height of a capital letter or a figure as it is drawn, in CSS pixels. */
export function capitalHeight(page, selector) {
  return page.evaluate((wanted) => {
    const element = document.querySelector(wanted);
    const style = getComputedStyle(element);
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    pen.fontStretch = "condensed";
    return pen.measureText("H").actualBoundingBoxAscent;
  }, selector);
}
