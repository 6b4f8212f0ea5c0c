// "Done" and "Skip" without leaving the stand. Without scripts the same forms lead back to it.

import { send } from "./asking.js";

const SAID = { done: "Done", skipped: "Skipped", open: "Open again" };

/**
 * The form that marks a target so.
 * @param {import("./page.js").Target} target
 * @returns {HTMLFormElement | null} null where it can't be marked, or is marked so already
 */
export function settleForm({ element }, state) {
  return element.querySelector(`[data-settle-to="${state}"]:not([hidden])`);
}

function showState(element, state) {
  element.dataset.state = state;
  element.querySelector("[data-state-words]").textContent = state === "open" ? "" : state;
  for (const form of element.querySelectorAll("[data-settle-to]")) form.hidden = form.dataset.settleTo === state;
}

/**
 * @param {import("./page.js").Target[]} targets
 * @param {{say: (words: string) => void, showTrouble: (words: string) => void, goOn: () => void}} doing
 */
export function watchSettling(targets, { say, showTrouble, goOn }) {
  for (const { element, name } of targets) {
    for (const form of element.querySelectorAll("[data-settle-to]")) {
      form.addEventListener("submit", async (event) => {
        event.preventDefault();
        const state = form.dataset.settleTo;
        const { isDone, message } = await send(form.dataset.settleUrl, { state });
        showTrouble(isDone ? "" : message);
        if (!isDone) return;
        showState(element, state);
        say(`${SAID[state]}: ${name}.`);
        if (state !== "open") goOn();
      });
    }
  }
}
