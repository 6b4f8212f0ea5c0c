// @ts-check
// Notes on the page: what is said, written into elements.

import { make } from "./dom.js";
import { partsOf } from "./said.js";

/** @typedef {import("./said.js").Said} Said */

/** @param {import("./said.js").Note} note */
function makeNote({ words, shown }) {
  const seen = make("span");
  seen.setAttribute("aria-hidden", "true");
  seen.append(...shown.map(([name, text]) => (name ? make("span", name, text) : text)));
  const note = make("span", "note-name");
  note.append(seen, make("span", "visually-hidden", words));
  return note;
}

/**
 * Say something where other things were said. The same again touches nothing, as `write` in dom.js.
 * @param {Element} element
 * @param {Said} said
 */
export function writeSaid(element, said) {
  const parts = document.createDocumentFragment();
  parts.append(...partsOf(said).map((part) => (typeof part === "string" ? part : makeNote(part))));
  if (element.textContent !== parts.textContent) element.replaceChildren(parts);
}
