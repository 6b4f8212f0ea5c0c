// @ts-check
// A key or pedal that is held says more than one that is pressed: forward is "done", back is "skipped".
// So a step is made when the key is let go; where nothing can be marked, as soon as it is pressed.

import { readKey } from "./pedal.js";

const HOLD_MS = 800;
/** @typedef {"done" | "skipped"} Mark */
/** @typedef {import("./pedal.js").Wish} Wish */

/** @type {Partial<Record<Wish, Mark>>} what a wish means when its key is held */
const MARKS = {
  "next-target": "done",
  "next-candidate": "done",
  "previous-target": "skipped",
  "previous-candidate": "skipped",
};

/**
 * @param {Document} place whose keys are meant
 * @param {{press: (wish: Wish) => void, canMark: (mark: Mark) => boolean,
 *   mark: (mark: Mark) => void, showHeld: (mark: Mark | null) => void}} doing
 */
export function watchKeys(place, { press, canMark, mark, showHeld }) {
  /** @type {{key: string, wish: Wish | null, timer: number} | null} no wish: it was marked already */
  let held = null;

  function letGo() {
    clearTimeout(held?.timer);
    held = null;
    showHeld(null);
  }

  place.addEventListener("keydown", (event) => {
    if (held?.key === event.key) {
      event.preventDefault(); // it repeats while it is held
      return;
    }
    const wish = readKey(event);
    if (!wish) return;
    event.preventDefault();
    if (event.repeat) return;
    if (held) letGo();
    const state = MARKS[wish];
    if (!state || !canMark(state)) {
      press(wish);
      return;
    }
    showHeld(state);
    const timer = window.setTimeout(() => {
      if (held) held.wish = null;
      showHeld(null);
      mark(state);
    }, HOLD_MS);
    held = { key: event.key, wish, timer };
  });
  place.addEventListener("keyup", (event) => {
    if (held?.key !== event.key) return;
    const { wish } = held;
    letGo();
    if (wish) press(wish);
  });
  place.defaultView?.addEventListener("blur", letGo);
}
