// @ts-check
// Say what is going on while a recording is sent and measured, and stop a second press of the button.
// A file that is too large is named before it is sent; the server would refuse it as well.

import { findAll, findOptional } from "./dom.js";

const LIMIT_BYTES = 64_000_000;

/** @param {HTMLInputElement} input */
function sizeProblem(input) {
  const file = input.files?.[0];
  const limit = Number(input.form?.dataset.uploadLimit) * 1e6 || LIMIT_BYTES;
  if (!file || file.size <= limit) return "";
  const size = `This file has ${(file.size / 1e6).toFixed(1)} MB`;
  if (limit > LIMIT_BYTES) return `${size}; a long recording may have up to ${limit / 1e6} MB. Save it as flac, or in two parts.`;
  return `${size}; a take may have up to 64 MB. Cut it to the held note.`;
}

for (const form of findAll(document, "form[data-upload]", HTMLFormElement)) {
  const input = findOptional(form, "input[type=file]", HTMLInputElement);
  const state = findOptional(form, "[data-upload-state]");
  input?.addEventListener("change", () => {
    input.setCustomValidity(sizeProblem(input));
    input.reportValidity();
  });
  form.addEventListener("submit", (event) => {
    if ("busy" in form.dataset) {
      event.preventDefault();
      return;
    }
    form.dataset.busy = "";
    if (state && input?.files?.length) state.textContent = "Sending and measuring…";
  });
}

// A page that comes back from the browser's memory is ready to send again.
window.addEventListener("pageshow", () => {
  for (const form of findAll(document, "form[data-busy]")) delete form.dataset.busy;
});
