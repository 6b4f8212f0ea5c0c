// The takes of this visit, the newest first, each with its result or with where it waits.

import { takeButtons } from "./take-buttons.js";

const moment = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", second: "2-digit" });
const MEASURING = "Measuring…";
const WAITING = "Waits in this browser";
const MARKS = {
  isClipped: "Too loud: the sound is cut off at the top.",
  hasGap: "Some sound was lost on the way from the microphone.",
  isCutOff: "Longer than a take may be: the first half minute is kept.",
};

/** One list. Dispatches "result" (detail: words for those who listen). */
export class VisitTakeList extends EventTarget {
  #place;
  #outbox;
  #url;
  #rows = new Map();
  #count = 0;

  /** @param {HTMLOListElement} place @param {import("./sound/outbox.js").Outbox} outbox */
  constructor(place, outbox, url) {
    super();
    this.#place = place;
    this.#outbox = outbox;
    this.#url = url;
    outbox.addEventListener("result", ({ detail }) => this.#showResult(detail));
    outbox.addEventListener("refused", () => this.#refresh());
    outbox.addEventListener("change", () => this.#refresh());
  }

  /** List a note that was just cut. */
  add(note) {
    const length = `${note.durationS.toFixed(1)} s`;
    const marks = Object.keys(MARKS).filter((name) => note[name]).map((name) => MARKS[name]);
    this.#addRow(note.id, `Take ${this.#count + 1}, ${length}`, marks);
    this.#say(note.id, MEASURING);
  }

  /** List what waits here from an earlier visit. */
  async showKept() {
    for (const item of await this.#outbox.list()) {
      if (item.url === this.#url && !this.#rows.has(item.id)) {
        this.#addRow(item.id, `Take of ${moment.format(item.keptAt)}`, []);
        this.#say(item.id, WAITING);
      }
    }
    await this.#refresh();
  }

  #addRow(id, name, marks) {
    this.#count += 1;
    const row = document.createElement("li");
    row.dataset.take = id;
    row.append(made("p", "recorder-name", name), made("p", "recorder-result"), made("p", "muted", marks.join(" ")));
    this.#place.prepend(row);
    this.#rows.set(id, row);
  }

  #say(id, words) {
    const place = this.#rows.get(id).querySelector(".recorder-result");
    if (place.textContent !== words) place.textContent = words;
  }

  #showResult({ id, result }) {
    const row = this.#rows.get(id);
    if (!row) return;
    this.#rows.delete(id);
    row.querySelector(".take-buttons")?.remove();
    const name = row.querySelector(".recorder-name");
    const link = document.createElement("a");
    link.href = result.url;
    link.textContent = name.textContent;
    name.replaceChildren(link);
    row.querySelector(".recorder-result").textContent = result.figure ?? "No pitch";
    row.classList.toggle("is-measured", result.is_usable);
    const words = result.is_usable ? result.warnings : [result.words, ...result.warnings];
    row.lastElementChild.textContent = [...words, row.lastElementChild.textContent].join(" ").trim();
    const spoken = [`${name.textContent}: ${result.figure ?? "no pitch"}.`, ...words].join(" ");
    this.dispatchEvent(new CustomEvent("result", { detail: spoken }));
  }

  async #refresh() {
    const items = new Map((await this.#outbox.list()).map((item) => [item.id, item]));
    for (const [id, row] of this.#rows) {
      const item = items.get(id);
      if (item) this.#showItem(row, item);
      else this.#showGone(id, row);
    }
  }

  /** The player let go of it, or another tab has sent it and its result is on the way. */
  #showGone(id, row) {
    this.#say(id, "No longer in this browser");
    row.querySelector(".take-buttons")?.remove();
  }

  #showItem(row, item) {
    const buttons = row.querySelector(".take-buttons");
    if (item.state === "waiting" && !item.message) {
      if (buttons) this.#say(item.id, MEASURING);
      buttons?.remove();
      return;
    }
    this.#say(item.id, item.state === "refused" ? "Not kept" : WAITING);
    const words = row.querySelector(".muted");
    if (words.textContent !== item.message) words.textContent = item.message;
    if (buttons?.dataset.state !== item.state) {
      buttons?.remove();
      row.append(takeButtons(this.#outbox, item));
    }
  }
}

function made(tag, name, words = "") {
  const element = document.createElement(tag);
  element.className = name;
  element.textContent = words;
  return element;
}
