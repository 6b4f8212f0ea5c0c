// @ts-check
// "Done" and "Skip" without leaving the stand. Without scripts the same forms lead back to it.

import { find, findAll, findOptional, show } from "../dom.js";
import { send } from "./asking.js";

/** @typedef {"done" | "skipped" | "open"} TargetState */

/** @type {Record<TargetState, string>} */
const SAID = { done: "Done", skipped: "Skipped", open: "Open again" };

/**
 * The form that marks a target so.
 * @param {import("./page.js").Target} target
 * @param {TargetState} state
 * @returns {HTMLFormElement | null} null where it can't be marked, or is marked so already
 */
export function settleForm({ element }, state) {
  return findOptional(element, `[data-settle-to="${state}"]:not([hidden])`, HTMLFormElement);
}

/** @param {HTMLElement} element of a target @param {TargetState} state */
function showState(element, state) {
  element.dataset.state = state;
  find(element, "[data-state-words]").textContent = state === "open" ? "" : state;
  for (const form of findAll(element, "[data-settle-to]")) show(form, form.dataset.settleTo !== state);
}

/**
 * @param {import("./page.js").Target[]} targets
 * @param {{say: (words: string) => void, showTrouble: (words: string) => void, goOn: () => void}} doing
 */
export function watchSettling(targets, { say, showTrouble, goOn }) {
  for (const { element, name } of targets) {
    for (const form of findAll(element, "[data-settle-to]", HTMLFormElement)) {
      form.addEventListener("submit", async (event) => {
        event.preventDefault();
        const state = /** @type {TargetState} */ (form.dataset.settleTo);
        const { isDone, message } = await send(form.dataset.settleUrl ?? "", { state });
        showTrouble(isDone ? "" : message);
        if (!isDone) return;
        showState(element, state);
        say(`${SAID[state]}: ${name}.`);
        if (state !== "open") goOn();
      });
    }
  }
}
