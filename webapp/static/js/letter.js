// @ts-check
// The letter on paper: what stands in the field now, saved or not.

import { find } from "./dom.js";

const field = find(document, ".letter-text", HTMLTextAreaElement);
const paper = find(document, "[data-letter-paper]");
window.addEventListener("beforeprint", () => { paper.textContent = field.value; });
