// @ts-check
// How long a player gets to take up the instrument; the choice is kept in this browser for every page.

import { recall, remember } from "./remembered.js";

const KEY = "count-in";

/** @param {HTMLSelectElement} choice @returns {() => number} seconds to count in now */
export function readCountIn(choice) {
  const kept = recall(KEY);
  const known = [...choice.options].find(({ value }) => value === kept);
  if (known) choice.value = known.value;
  choice.addEventListener("change", () => remember(KEY, choice.value));
  return () => Number(choice.value);
}
