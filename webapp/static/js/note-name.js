// @ts-check
// A note as its sign, with the full words for a screen reader: as the server writes it
// (webapp/presenting/notes.py).

import { make } from "./dom.js";

/**
 * @param {import("./sound/written-names.js").NoteParts} parts
 * @returns {HTMLElement}
 */
export function makeNoteName({ name, sign, octave, words }) {
  const note = make("span", "note-name");
  const shown = make("span", "", name);
  shown.setAttribute("aria-hidden", "true");
  if (sign) shown.append(make("span", "sign", sign));
  shown.append(String(octave));
  note.append(shown, make("span", "visually-hidden", words));
  return note;
}
