// Choosing what a fingering came from sets the keys in place: the chosen recording and the scroll
// position stay. The server works out the keys, the words and the strategy; without this script
// the button sends the whole form for the same.

import { enhance } from "./keys.js";

function watch(form) {
  const select = form.querySelector("[data-base-choice]");
  const button = form.querySelector("[data-base-apply]");
  const text = () => form.querySelector("[data-keys-text]").textContent;
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

  function take(page) {
    const fresh = page.querySelector("[data-keys-entry]");
    form.querySelector("[data-keys-entry]").replaceWith(fresh);
    enhance(fresh);
    const strategy = form.querySelector("[name=strategy]");
    strategy.value = page.querySelector("[name=strategy]").value;
    untouched = text();
  }

  button.addEventListener("click", (event) => {
    event.preventDefault();
    apply();
  });
  // Keys that the player has touched already are not thrown away by a choice; the button does that.
  select.addEventListener("change", () => {
    if (text() === untouched) apply();
  });
}

for (const form of document.querySelectorAll("form[data-base]")) watch(form);
