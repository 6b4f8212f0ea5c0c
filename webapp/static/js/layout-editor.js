// @ts-check
// The text of a layout: bring the line that an error speaks of into sight and select it.

import { find, findAll, show } from "./dom.js";

const text = find(document, "textarea.layout-text", HTMLTextAreaElement);

/**
 * Find where a line of a text begins and ends.
 * @param {string} content
 * @param {number} number lines count from 1
 * @returns {[number, number]}
 */
function lineBounds(content, number) {
  const lines = content.split("\n");
  const start = lines.slice(0, number - 1).join("\n").length + (number > 1 ? 1 : 0);
  return [start, start + (lines[number - 1] ?? "").length];
}

/** @param {number} number of a line */
function goTo(number) {
  text.focus();
  text.setSelectionRange(...lineBounds(text.value, number));
  const lineHeight = parseFloat(getComputedStyle(text).lineHeight);
  text.scrollTop = Math.max(0, (number - 4) * lineHeight);
}

for (const button of findAll(document, "[data-go-to-line]")) {
  show(button);
  button.addEventListener("click", () => goTo(Number(button.dataset.goToLine)));
}
