// @ts-check
// Measuring or watching: whether the pitch is seen when a note has ended, or while it sounds. Measuring
// is the way of the house; the choice is kept in this browser. The first time a sentence says why.

import { find, press, show, write } from "../dom.js";
import { recall, remember } from "../remembered.js";

const CHOICE = "watch";
const HINT = "watch-hint";
const ON = "on";
const OFF = "off";
const WATCHING = "Watching: pitch and trace are shown while you play.";
const MEASURING = "Measuring: pitch and trace come when the note ends.";

/**
 * @param {HTMLElement} stand
 * @param {{choose: (isWatching: boolean) => void, say: (words: string) => void}} doing
 *   `choose` is called at once with what was chosen before
 * @returns {{hint: HTMLElement, endHint: () => void}} the sentence, and what hides it for this visit
 */
export function offerWatching(stand, { choose, say }) {
  const button = find(stand, "[data-watch]");
  const state = find(stand, "[data-watch-state]");
  const hint = find(stand, "[data-watch-hint]");
  const endHint = () => show(hint, false);
  let isWatching = recall(CHOICE) === ON;

  function take() {
    press([button], () => isWatching);
    write(state, isWatching ? ON : OFF);
    choose(isWatching);
  }

  button.addEventListener("click", () => {
    isWatching = !isWatching;
    remember(CHOICE, isWatching ? ON : OFF);
    endHint();
    take();
    say(isWatching ? WATCHING : MEASURING);
  });
  find(hint, "button").addEventListener("click", () => {
    remember(HINT, "read");
    endHint();
    button.focus({ preventScroll: true });
  });
  show(hint, recall(HINT) === null && recall(CHOICE) === null);
  take();
  return { hint, endHint };
}
