// What a player can do with a take that waits in the browser.

/**
 * Buttons for one take.
 * @param {import("./sound/outbox.js").Outbox} outbox
 * @param {{id: number, state: string, label: string}} item
 * @returns {HTMLElement}
 */
export function takeButtons(outbox, item) {
  const place = document.createElement("div");
  place.className = "actions take-buttons";
  place.dataset.state = item.state;
  place.append(button("Download", () => download(outbox, item.id)));
  if (item.state === "refused") place.append(button("Send again", () => outbox.again(item.id)));
  const discard = button("Discard", () => {
    if (discard.dataset.isAsked) outbox.remove(item.id);
    discard.dataset.isAsked = "yes";
    discard.textContent = "Discard for good";
  });
  place.append(discard);
  return place;
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

async function download(outbox, id) {
  const file = await outbox.file(id);
  if (!file) return;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
