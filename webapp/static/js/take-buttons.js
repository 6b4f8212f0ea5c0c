// @ts-check
// What a player can do with a take that waits in the browser.

import { make, makeButton } from "./dom.js";

/**
 * Buttons for one take.
 * @param {import("./sound/outbox.js").Outbox} outbox
 * @param {{id: number, state: import("./sound/outbox.js").Item["state"]}} item
 * @returns {HTMLElement}
 */
export function takeButtons(outbox, item) {
  const place = make("div", "actions take-buttons");
  place.dataset.state = item.state;
  place.append(makeButton("Download", () => download(outbox, item.id)));
  if (item.state === "refused") place.append(makeButton("Send again", () => outbox.again(item.id)));
  const discard = makeButton("Discard", () => {
    if (discard.dataset.isAsked) outbox.remove(item.id);
    discard.dataset.isAsked = "yes";
    discard.textContent = "Discard for good";
  });
  place.append(discard);
  return place;
}

/** @param {import("./sound/outbox.js").Outbox} outbox @param {number} id */
async function download(outbox, id) {
  const file = await outbox.file(id);
  if (!file) return;
  const link = make("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
