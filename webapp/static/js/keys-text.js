// Typing a fingering: what is typed sets the keys of the picture, and what is touched writes the
// text. The server reads the text and says how it lies in the hands, so that this file knows
// neither keywork nor the text form. Without it the button "Read it" does the same.

const PAUSE_MS = 250;

function enhance(place) {
  const form = place.closest("form");
  const entry = form.querySelector("[data-keys-entry]");
  const field = form.elements.keys_text;
  const was = form.elements.keys_text_was;
  const way = place.querySelector("[data-keys-way]");
  let shown = entry.querySelector("[data-keys-text]").textContent;
  let isTyping = false;
  let timer = 0;
  let waiting = null;

  async function ask(text) {
    waiting?.abort();
    waiting = new AbortController();
    const query = new URLSearchParams({ text, base: way?.dataset.base ?? "" });
    const answer = await fetch(`${place.dataset.keysTyped}?${query}`, { signal: waiting.signal });
    return answer.json();
  }

  /** Read what is typed; `isDone` when the player has finished, and the text may be tidied. */
  async function read(isDone) {
    clearTimeout(timer);
    const typed = field.value;
    let found = null;
    try {
      found = await ask(typed);
    } catch {
      return; // a newer question took its place, or the server is gone: the button still works
    }
    if (found.problem) {
      complain(found);
      return;
    }
    complain(null);
    isTyping = !isDone;
    if (found.text !== shown) {
      entry.dispatchEvent(new CustomEvent("keys:set", { detail: { states: found.letters } }));
    }
    isTyping = false;
    if (isDone) field.value = found.text;
    was.value = field.value;
    sayHands(found);
  }

  function complain(found) {
    field.setAttribute("aria-invalid", String(found !== null));
    field.closest(".field").classList.toggle("has-error", found !== null);
    const parts = [];
    if (found) {
      parts.push(made("p", "error", found.problem));
      if (found.pointer) parts.push(made("pre", "pointer", found.pointer));
      parts[1]?.setAttribute("aria-hidden", "true");
    }
    place.querySelector("[data-keys-problem]").replaceChildren(...parts);
  }

  function sayHands(found) {
    place.querySelector("[data-keys-ease]").textContent = found.ease;
    if (way) way.textContent = found.way;
  }

  entry.addEventListener("keys:change", async (event) => {
    shown = event.detail.text;
    if (isTyping) return;
    clearTimeout(timer);
    field.value = shown;
    was.value = shown;
    complain(null);
    try {
      const found = await ask(shown);
      if (!found.problem) sayHands(found);
    } catch {
      // as above
    }
  });
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(read, PAUSE_MS, false);
  });
  field.addEventListener("change", () => read(true));
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    read(true);
  });
  place.querySelector("[data-keys-read]").hidden = true;
}

function made(tag, name, words) {
  const element = document.createElement(tag);
  element.className = name;
  element.textContent = words;
  return element;
}

for (const place of document.querySelectorAll("[data-keys-typed]")) enhance(place);
