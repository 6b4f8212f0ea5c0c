// @ts-check
// What is said of notes: text and notes in turn. A note has its sign and letter to see and words to be
// read out; the server writes both (webapp/presenting/notes.py).

/** @typedef {{words: string, shown: [string, string][]}} Note `shown`: class, or none, and text of each piece */
/** @typedef {string | Note | (string | Note)[]} Said */

/** @param {Said} said @returns {(string | Note)[]} */
export function partsOf(said) {
  return Array.isArray(said) ? said : [said];
}

/** What is said, as text. @param {Said} said */
export function inWords(said) {
  return partsOf(said).map((part) => (typeof part === "string" ? part : part.words)).join("");
}

/** Put what is said one after the other; what is empty is left out. @param {Said[]} all @returns {(string | Note)[]} */
export function joinSaid(...all) {
  return all
    .filter((said) => inWords(said) !== "")
    .flatMap((said, place) => [...(place ? [" "] : []), ...partsOf(said)]);
}
