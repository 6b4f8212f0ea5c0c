// How long a player gets to take up the instrument; the choice is kept in this browser for every page.

const KEY = "count-in";

/** @param {HTMLSelectElement} choice @returns {() => number} seconds to count in now */
export function readCountIn(choice) {
  const kept = localStorage.getItem(KEY);
  if ([...choice.options].some(({ value }) => value === kept)) choice.value = kept;
  choice.addEventListener("change", () => localStorage.setItem(KEY, choice.value));
  return () => Number(choice.value);
}
