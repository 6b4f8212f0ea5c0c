// @ts-check
// Choosing what a fingering came from sets the keys in place: the chosen recording and the scroll
// position stay. The server works out the keys, the words and the strategy; without this script
// the button sends the whole form for the same.

import { dispatch, find, findAll, show } from "./dom.js";
import { enhance } from "./keys.js";

/** @param {HTMLFormElement} form */
function watch(form) {
  const select = find(form, "[data-base-choice]");
  const button = find(form, "[data-base-apply]");
  const text = () => find(form, "[data-keys-text]").textContent;
  let untouched = text();
  let asking = new AbortController();

  async function apply() {
    const before = text();
    const sent = new FormData(form);
    sent.delete("clip");
    sent.set("action", "set-keys");
    // Arrow keys run through a list quickly: only the last choice counts.
    asking.abort();
    asking = new AbortController();
    const { signal } = asking;
    try {
      const response = await fetch(location.href, { method: "POST", body: sent, signal });
      if (!response.ok) throw new Error(`status ${response.status}`);
      const page = await response.text();
      // What the player touched while the answer was on its way counts more than the answer.
      if (!signal.aborted && text() === before) take(new DOMParser().parseFromString(page, "text/html"));
    } catch {
      if (!signal.aborted) form.requestSubmit(button);
    }
  }

  /** @param {Document} page */
  function take(page) {
    const fresh = document.adoptNode(find(page, "[data-keys-entry]"));
    find(form, "[data-keys-entry]").replaceWith(fresh);
    enhance(fresh);
    for (const old of findAll(form, ".hands")) old.remove();
    find(form, "[data-keys-typed]").append(...findAll(page, ".hands").map((each) => document.adoptNode(each)));
    const strategy = find(form, "[name=strategy]", HTMLSelectElement);
    strategy.value = find(page, "[name=strategy]", HTMLSelectElement).value;
    untouched = text();
    dispatch(form, "keys:change", { text: untouched }); // the typed text follows
    show(button, false);
  }

  button.addEventListener("click", (event) => {
    event.preventDefault();
    apply();
  });
  // Keys that the player has touched already are not thrown away by a choice; the button does that.
  select.addEventListener("change", () => {
    if (text() === untouched) apply();
    else show(button);
  });
  show(button, false);
}

for (const form of findAll(document, "form[data-base]", HTMLFormElement)) watch(form);
