// @ts-check
// Typing a fingering: what is typed sets the keys of the picture, and what is touched writes the
// text. The server reads the text and says how it lies in the hands, so that this file knows
// neither keywork nor the text form. Without it the button "Read it" does the same.

import { find, findAll, findOptional, make, onDetail, show, dispatch } from "./dom.js";

const PAUSE_MS = 250;

/**
 * What the server says of a text: the states and words, or the problem with it.
 * @typedef {{problem?: undefined, text: string, letters: string, ease: string, way: string}} ReadText
 * @typedef {{problem: string, pointer?: string}} Problem
 */

/** @param {HTMLElement} place @param {HTMLFormElement} form */
function enhance(place, form) {
  const entry = () => find(form, "[data-keys-entry]"); // another base brings another one
  const field = find(form, "[name=keys_text]", HTMLInputElement);
  const was = find(form, "[name=keys_text_was]", HTMLInputElement);
  const way = () => findOptional(place, "[data-keys-way]");
  let shown = find(entry(), "[data-keys-text]").textContent ?? "";
  let isTyping = false;
  let timer = 0;
  /** @type {AbortController | null} */
  let waiting = null;

  /** @param {string} text @returns {Promise<ReadText | Problem>} */
  async function ask(text) {
    waiting?.abort();
    waiting = new AbortController();
    const query = new URLSearchParams({ text, base: way()?.dataset.base ?? "" });
    const answer = await fetch(`${place.dataset.keysTyped}?${query}`, { signal: waiting.signal });
    if (!answer.ok) throw new Error("the notebook did not read it"); // a refusal holds no keys
    return answer.json();
  }

  /** Read what is typed. @param {boolean} isDone the player has finished, and the text may be tidied */
  async function read(isDone) {
    clearTimeout(timer);
    /** @type {ReadText | Problem} */
    let found;
    try {
      found = await ask(field.value);
    } catch {
      return; // a newer question took its place, or the server is gone: the button still works
    }
    if (found.problem !== undefined) {
      complain(found);
      return;
    }
    complain(null);
    isTyping = !isDone;
    if (found.text !== shown) {
      dispatch(entry(), "keys:set", { states: found.letters });
    }
    isTyping = false;
    if (isDone) field.value = found.text;
    was.value = field.value;
    sayHands(found);
  }

  /** @param {Problem | null} found */
  function complain(found) {
    field.setAttribute("aria-invalid", String(found !== null));
    field.closest(".field")?.classList.toggle("has-error", found !== null);
    const parts = [];
    if (found) parts.push(make("p", "error", found.problem));
    if (found?.pointer) {
      const pointer = make("pre", "pointer", found.pointer);
      pointer.setAttribute("aria-hidden", "true");
      parts.push(pointer);
    }
    find(place, "[data-keys-problem]").replaceChildren(...parts);
  }

  /** @param {ReadText} found */
  function sayHands(found) {
    find(place, "[data-keys-ease]").textContent = found.ease;
    const said = way();
    if (said) said.textContent = found.way;
  }

  onDetail(form, "keys:change", async (/** @type {{text: string}} */ { text }) => {
    shown = text;
    if (isTyping) return;
    clearTimeout(timer);
    field.value = shown;
    was.value = shown;
    complain(null);
    try {
      const found = await ask(shown);
      if (found.problem === undefined) sayHands(found);
    } catch {
      // as above
    }
  });
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = window.setTimeout(read, PAUSE_MS, false);
  });
  field.addEventListener("change", () => read(true));
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    read(true);
  });
  show(find(place, "[data-keys-read]"), false);
}

for (const form of findAll(document, "form", HTMLFormElement)) {
  for (const place of findAll(form, "[data-keys-typed]")) enhance(place, form);
}
