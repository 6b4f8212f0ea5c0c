// The text of a layout: bring the line that an error speaks of into sight and select it.

const text = document.querySelector("textarea.layout-text");

/** Find where a line of a text begins and ends; lines count from 1. */
function lineBounds(content, number) {
  const lines = content.split("\n");
  const start = lines.slice(0, number - 1).join("\n").length + (number > 1 ? 1 : 0);
  return [start, start + (lines[number - 1] ?? "").length];
}

function goTo(number) {
  text.focus();
  text.setSelectionRange(...lineBounds(text.value, number));
  const lineHeight = parseFloat(getComputedStyle(text).lineHeight);
  text.scrollTop = Math.max(0, (number - 4) * lineHeight);
}

for (const button of document.querySelectorAll("[data-go-to-line]")) {
  button.hidden = false;
  button.addEventListener("click", () => goTo(Number(button.dataset.goToLine)));
}
