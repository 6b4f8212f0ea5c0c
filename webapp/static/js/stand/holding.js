// A key or pedal that is held says more than one that is pressed: forward is "done", back is "skipped".
// So a step is made when the key is let go; where nothing can be marked, as soon as it is pressed.

import { readKey } from "./pedal.js";

const HOLD_MS = 800;
const MARKS = {
  "next-target": "done",
  "next-candidate": "done",
  "previous-target": "skipped",
  "previous-candidate": "skipped",
};

/**
 * @param {Document} place whose keys are meant
 * @param {{press: (name: string) => void, canMark: (state: string) => boolean,
 *   mark: (state: string) => void, showHeld: (state: string | null) => void}} doing
 */
export function watchKeys(place, { press, canMark, mark, showHeld }) {
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
    const name = readKey(event);
    if (!name) return;
    event.preventDefault();
    if (event.repeat) return;
    if (held) letGo();
    const state = MARKS[name];
    if (!state || !canMark(state)) {
      press(name);
      return;
    }
    held = { key: event.key, name };
    showHeld(state);
    held.timer = setTimeout(() => {
      held.name = null;
      showHeld(null);
      mark(state);
    }, HOLD_MS);
  });
  place.addEventListener("keyup", (event) => {
    if (held?.key !== event.key) return;
    const { name } = held;
    letGo();
    if (name) press(name);
  });
  place.defaultView.addEventListener("blur", letGo);
}
