// Light or dark, as it was chosen on this screen; runs before the page is painted, so that nothing flashes.
(() => {
  try {
    const chosen = localStorage.getItem("sayback.theme");
    if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen;
  } catch {
    // Without storage the screen's own preference counts.
  }
})();
