// The page of a long recording: progress without reloading, and dragging as a convenience. Without
// this script the page is loaded again by hand, and every note has its list to choose from.

const STEP_MS = 700;

async function follow(area) {
  const bar = area.querySelector("progress");
  const label = area.querySelector("label");
  const spoken = area.querySelector("[data-progress-words]");
  for (;;) {
    await new Promise((done) => setTimeout(done, STEP_MS));
    let state;
    try {
      const answer = await fetch(area.dataset.progress);
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

for (const area of document.querySelectorAll("[data-progress]")) follow(area);

const source = document.querySelector("[data-drag-source]");
if (source) {
  source.hidden = false;
  let dragged = null;
  source.addEventListener("dragstart", (event) => {
    dragged = event.target.closest("[data-drag]");
    event.dataTransfer.setData("text/plain", dragged.dataset.drag);
    event.dataTransfer.effectAllowed = "copy";
  });
  for (const place of document.querySelectorAll("[data-drop]")) {
    place.addEventListener("dragover", (event) => {
      if (!dragged) return;
      event.preventDefault();
      place.classList.add("is-over");
    });
    place.addEventListener("dragleave", () => place.classList.remove("is-over"));
    place.addEventListener("drop", (event) => {
      event.preventDefault();
      place.classList.remove("is-over");
      const list = document.getElementById(place.dataset.drop);
      if (dragged) list.value = dragged.dataset.drag;
      dragged = null;
    });
  }
}
