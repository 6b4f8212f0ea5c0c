// @ts-check
// Entry of a part by touch: notes from the staff beside it, with a length, a slur and bars.

import { find, findAll, onDetail, press, show, write } from "./dom.js";
import { addBar, addNote, dotted, repeatBar, takeBack, tellLast } from "./note/part-text.js";

/** One entry and its field. */
class PartEntry {
  #field;
  #slurred;
  #dotted;
  #last;
  #length = "1/4";

  /** @param {HTMLElement} root */
  constructor(root) {
    this.#field = find(document, "[data-part-text]", HTMLTextAreaElement);
    this.#slurred = find(root, "[data-slurred]");
    this.#dotted = find(root, "[data-dotted]");
    this.#last = find(root, "[data-part-last]");
    show(find(root, "[data-part-keys]"));
    this.#field.addEventListener("input", () => this.#tell());
    this.#tell();
    const lengths = findAll(root, "[data-length]");
    for (const button of lengths) {
      button.addEventListener("click", () => {
        this.#length = button.dataset.length ?? this.#length;
        press(lengths, (each) => each === button);
      });
    }
    for (const button of [this.#slurred, this.#dotted]) {
      button.addEventListener("click", () => press([button], () => !isPressed(button)));
    }
    onDetail(root, "note-chosen", (/** @type {string} */ text) => this.#add(text, isPressed(this.#slurred)));
    this.#on(root, "[data-rest]", () => this.#add("r", false));
    this.#on(root, "[data-new-bar]", () => this.#write(addBar(this.#field.value)));
    this.#on(root, "[data-repeat-bar]", () => this.#write(repeatBar(this.#field.value)));
    this.#on(root, "[data-take-back]", () => this.#write(takeBack(this.#field.value)));
  }

  /** @param {HTMLElement} root @param {string} selector @param {() => void} act */
  #on(root, selector, act) {
    find(root, selector).addEventListener("click", act);
  }

  /** @param {string} note @param {boolean} isSlurred */
  #add(note, isSlurred) {
    const length = isPressed(this.#dotted) ? dotted(this.#length) : this.#length;
    this.#write(addNote(this.#field.value, note, { length, isSlurred }));
  }

  /** @param {string} text */
  #write(text) {
    this.#field.value = text;
    this.#field.scrollTop = this.#field.scrollHeight;
    this.#field.dispatchEvent(new Event("change", { bubbles: true }));
    this.#tell();
  }

  /** The field lies above the screen of a phone while its notes are put in: the last bar is told. */
  #tell() {
    write(this.#last, tellLast(this.#field.value));
  }
}

/** @param {Element} button */
function isPressed(button) {
  return button.getAttribute("aria-pressed") === "true";
}

for (const root of findAll(document, "[data-part-entry]")) new PartEntry(root);
