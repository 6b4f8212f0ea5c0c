// @ts-check
// Choices that are kept in this browser. Where it refuses storage they hold for the page.

/** @type {Map<string, string>} what the browser refused to keep */
const held = new Map();

/** @param {string} name @returns {string | null} */
export function recall(name) {
  try {
    return held.get(name) ?? localStorage.getItem(name);
  } catch {
    return null;
  }
}

/** @param {string} name @param {string} value */
export function remember(name, value) {
  try {
    localStorage.setItem(name, value);
    held.delete(name);
  } catch {
    held.set(name, value);
  }
}

/** @param {string} name */
export function forget(name) {
  held.delete(name);
  try {
    localStorage.removeItem(name);
  } catch {
    // nothing was kept
  }
}
