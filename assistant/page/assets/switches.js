// The few things that a finger may do: hear the last sentence again, mute the voice, change light and dark.

/** Asks the assistant for something harmless. True when it was taken. */
export async function ask(what) {
  try {
    const answer = await fetch("/api/do", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ do: what }),
    });
    return answer.ok;
  } catch {
    return false; // The page says by itself that the assistant is gone.
  }
}

/** Whether the page is dark just now. */
function isDark() {
  const chosen = document.documentElement.dataset.theme;
  return chosen ? chosen === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
}

function nameTheme(button) {
  button.textContent = isDark() ? "Light" : "Dark";
  button.setAttribute("aria-label", isDark() ? "Change to light" : "Change to dark");
}

/** The switch for light and dark; what is chosen is kept on this screen. */
export function themeSwitch(button) {
  nameTheme(button);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => nameTheme(button));
  button.addEventListener("click", () => {
    const theme = isDark() ? "light" : "dark";
    document.documentElement.dataset.theme = theme;
    try {
      localStorage.setItem("sayback.theme", theme);
    } catch {
      // Without storage it holds until the page is loaded again.
    }
    nameTheme(button);
  });
}

/** The switches of the voice. Whether it is muted comes back with the next glance; a press changes nothing here. */
export function voiceSwitches(repeat, mute) {
  repeat.addEventListener("click", () => ask("repeat"));
  mute.addEventListener("click", () => ask(mute.getAttribute("aria-pressed") === "true" ? "unmute" : "mute"));
}

/** Shows whether the voice is muted. */
export function showMuted(mute, muted) {
  mute.setAttribute("aria-pressed", String(Boolean(muted)));
}
