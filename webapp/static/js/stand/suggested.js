// @ts-check
// Suggestions for open notes: asked for when the stand is open, one note after the other, so that the
// list is there at once and is complete when they are worked out.

import { findAll } from "../dom.js";

const AGAIN_MS = 1000;
const WORKING = 202;

/** @typedef {import("./page.js").Target} Target */

/**
 * @param {string} url
 * @returns {Promise<HTMLElement[]>} none where the notebook does not answer
 */
async function fetchSuggestions(url) {
  for (;;) {
    const answer = await fetch(url).catch(() => null);
    if (!answer?.ok) return [];
    if (answer.status !== WORKING) {
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      return findAll(page, "[data-candidate]").map((one) => document.importNode(one, true));
    }
    await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
  }
}

/**
 * @param {Target[]} targets
 * @param {number} first the target that is shown, whose suggestions come first
 * @param {(target: number, elements: HTMLElement[]) => void} add
 */
export async function askForSuggestions(targets, first, add) {
  const order = [...targets.keys()].map((step) => (first + step) % targets.length);
  for (const target of order) {
    const { suggestionsUrl } = targets[target];
    if (!suggestionsUrl) continue;
    const elements = await fetchSuggestions(suggestionsUrl);
    if (elements.length) add(target, elements);
  }
}
