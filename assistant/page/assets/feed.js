// The line to the assistant: server-sent events, and a watchdog that knows when they have stopped.

/** Longer than this without a word from the assistant, and what is on the page may be old. It ticks each 5 s. */
const SILENCE_MS = 12_000;
const FIRST_RETRY_MS = 500;
const LAST_RETRY_MS = 4_000;

/** How far the assistant's clock is ahead of this screen's. */
let ahead = 0;

/** The time by the assistant's clock, in milliseconds. */
export function now() {
  return Date.now() + ahead;
}

/** Follows the assistant until the page is closed; `hears` has `glance`, `level`, `live` and `lost`. */
export function follow(hears) {
  let source = null;
  let connected = false;
  let heardAt = Date.now();
  let retry = FIRST_RETRY_MS;
  let again = null;

  function alive() {
    heardAt = Date.now();
    if (connected) return;
    connected = true;
    retry = FIRST_RETRY_MS;
    hears.live();
  }

  function lose() {
    connected = false;
    hears.lost();
    source?.close();
    source = null;
    if (again !== null) return;
    again = setTimeout(() => {
      again = null;
      open();
    }, retry);
    retry = Math.min(retry * 2, LAST_RETRY_MS);
  }

  function open() {
    // A source that was refused once never tries again by itself, so each try is a new one.
    heardAt = Date.now();
    source = new EventSource("/api/events");
    source.onerror = lose;
    listen("glance", hears.glance);
    listen("level", hears.level);
    listen("tick", ({ at_ms: atMs }) => {
      if (typeof atMs === "number") ahead = atMs - Date.now();
    });
  }

  function listen(name, take) {
    source.addEventListener(name, (event) => {
      let data;
      try {
        data = JSON.parse(event.data);
      } catch {
        return; // Half a message is none.
      }
      alive();
      take(data);
    });
  }

  function watch() {
    if (source !== null && Date.now() - heardAt > SILENCE_MS) lose();
  }
  setInterval(watch, 1000);
  // A screen that slept has missed what happened: it asks anew rather than trust what it shows.
  document.addEventListener("visibilitychange", watch);
  open();
}
