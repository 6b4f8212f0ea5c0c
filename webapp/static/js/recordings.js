// @ts-check
// The page of a long recording: progress without reloading, and dragging as a convenience. Without
// this script the page is loaded again by hand, and every note has its list to choose from.

import { find, findAll, findOptional, findClosest, show } from "./dom.js";

/** @typedef {{is_at_work: boolean, words: string, done_share: number}} Progress */

const STEP_MS = 700;

/** @param {HTMLElement} area */
async function follow(area) {
  const bar = find(area, "progress", HTMLProgressElement);
  const label = find(area, "label");
  const spoken = find(area, "[data-progress-words]");
  for (;;) {
    await new Promise((done) => setTimeout(done, STEP_MS));
    /** @type {Progress} */
    let state;
    try {
      const answer = await fetch(area.dataset.progress ?? "");
      if (!answer.ok) return;
      state = await answer.json();
    } catch {
      continue; // the notebook is being restarted; it goes on by itself
    }
    if (!state.is_at_work) {
      spoken.textContent = state.words;
      location.reload();
      return;
    }
    bar.value = state.done_share;
    label.textContent = state.words;
  }
}

for (const area of findAll(document, "[data-progress]")) follow(area);

/** @param {HTMLElement} source */
function letDrag(source) {
  show(source);
  /** @type {string | null} */
  let dragged = null;
  source.addEventListener("dragstart", ({ target, dataTransfer }) => {
    dragged = findClosest(target, "[data-drag]")?.dataset.drag ?? null;
    if (dragged === null || dataTransfer === null) return;
    dataTransfer.setData("text/plain", dragged);
    dataTransfer.effectAllowed = "copy";
  });
  for (const place of findAll(document, "[data-drop]")) {
    place.addEventListener("dragover", (event) => {
      if (dragged === null) return;
      event.preventDefault();
      place.classList.add("is-over");
    });
    place.addEventListener("dragleave", () => place.classList.remove("is-over"));
    place.addEventListener("drop", (event) => {
      event.preventDefault();
      place.classList.remove("is-over");
      const list = document.getElementById(place.dataset.drop ?? "");
      if (dragged !== null && list instanceof HTMLSelectElement) list.value = dragged;
      dragged = null;
    });
  }
}

const source = findOptional(document, "[data-drag-source]");
if (source) letDrag(source);
