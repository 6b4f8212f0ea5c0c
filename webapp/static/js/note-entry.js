// @ts-check
// Entry of one note by touch beside its text field: dragged or stepped on a staff, its sign stepped
// through the player's system, nudged by cents, and heard. The field stays what is sent.

import { dispatch, find, findAll, findOptional, make, show, write } from "./dom.js";
import { NoteChoice } from "./note/note-choice.js";
import { Staff } from "./note/staff.js";
import { Tone } from "./sound/tones.js";

const OCTAVE_STEPS = 7;
const LOUDNESS = 0.5; // of a reference tone's range: moderate
/** @type {Record<string, number>} */
const STEPS_OF_KEYS = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: OCTAVE_STEPS, PageDown: -OCTAVE_STEPS };

/** One entry and its field. */
class NoteEntry {
  #root;
  #field;
  #staff;
  #slider;
  #choice;
  /** @type {import("./note/note-choice.js").View} */
  #view;
  /** @type {Tone | null} */
  #tone = null;

  /** @param {HTMLElement} root */
  constructor(root) {
    this.#root = root;
    this.#view = JSON.parse(root.dataset.view ?? "{}");
    const field = document.getElementById(root.dataset.field ?? "");
    if (!(field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement)) throw new Error("an entry without a field");
    this.#field = field;
    this.#choice = new NoteChoice(this.#view);
    this.#slider = find(root, "[data-note-staff]");
    this.#staff = new Staff(this.#slider, this.#view);
    this.#replaceFields();
    this.#listen();
    this.#draw();
  }

  /** What is for pages without scripts is neither shown nor sent. */
  #replaceFields() {
    const fields = findOptional(this.#root, "[data-note-fields]", HTMLFieldSetElement);
    if (fields) {
      fields.disabled = true;
      show(fields, false);
    }
    show(find(this.#root, "[data-note-touch]"));
  }

  #listen() {
    const root = this.#root;
    for (const button of findAll(root, "[data-step]")) {
      button.addEventListener("click", () => this.#change(this.#choice.moved(Number(button.dataset.step))));
    }
    for (const button of findAll(root, "[data-sign]")) {
      button.addEventListener("click", () => this.#change(this.#choice.resigned(Number(button.dataset.sign))));
    }
    for (const button of findAll(root, "[data-nudge]")) {
      button.addEventListener("click", () => this.#change(this.#choice.nudged(Number(button.dataset.nudge))));
    }
    find(root, "[data-note-hear]").addEventListener("click", () => this.#hear());
    findOptional(root, "[data-note-add]")?.addEventListener("click", () => this.#add());
    root.addEventListener("toggle", () => this.#stop());
    this.#field.addEventListener("input", () => this.#forget());
    this.#slider.addEventListener("keydown", (event) => this.#press(event));
    this.#slider.addEventListener("pointerdown", (event) => {
      this.#slider.setPointerCapture(event.pointerId);
      this.#drag(event);
    });
    this.#slider.addEventListener("pointermove", (event) => {
      if (this.#slider.hasPointerCapture(event.pointerId)) this.#drag(event);
    });
  }

  /** @param {PointerEvent} event */
  #drag(event) {
    const step = this.#staff.stepUnder(event);
    if (step !== this.#choice.step) this.#change(this.#choice.movedTo(step));
  }

  /** @param {KeyboardEvent} event */
  #press(event) {
    const { key } = event;
    if (key in STEPS_OF_KEYS) this.#change(this.#choice.moved(STEPS_OF_KEYS[key]));
    else if (key === "Home" || key === "End") this.#change(this.#choice.atEnd(key === "Home" ? "low" : "high"));
    else return;
    event.preventDefault();
  }

  /** @param {NoteChoice} choice */
  #change(choice) {
    this.#choice = choice;
    this.#tone?.change({ hz: choice.hz });
    if (!("isList" in this.#root.dataset)) this.#fill();
    this.#draw();
  }

  #fill() {
    this.#field.value = this.#choice.text;
    this.#forget();
    const { kept } = this.#choice;
    if (kept) {
      const exact = make("input");
      Object.assign(exact, { type: "hidden", name: `${this.#field.name}.touched`, value: kept });
      this.#field.after(exact);
    }
    this.#field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  /** What was touched no longer counts once the text is another. */
  #forget() {
    const form = this.#field.form ?? document;
    for (const one of findAll(form, `[name="${this.#field.name}.touched"]`)) one.remove();
  }

  /** Put the note on a line of its own, or tell the page of it where that does more. */
  #add() {
    const { kept, text } = this.#choice;
    if ("tells" in this.#root.dataset) {
      dispatch(this.#root, "note-chosen", text, true);
      return;
    }
    const before = this.#field.value.trimEnd();
    this.#field.value = `${before}${before ? "\n" : ""}${kept || text}\n`;
    this.#field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  #draw() {
    const { step, words, name, alterWords, beyond } = this.#choice;
    this.#staff.draw(this.#choice);
    const shown = find(this.#root, "[data-note-name]");
    shown.replaceChildren(name.letter, make("span", "sign", name.sign), name.octave, make("span", "note-cents", name.rest));
    write(find(this.#root, "[data-note-cents]"), alterWords);
    write(find(this.#root, "[data-note-beyond]"), beyond);
    const { low, high } = this.#view;
    this.#slider.setAttribute("aria-valuemin", String(low.step));
    this.#slider.setAttribute("aria-valuemax", String(high.step));
    this.#slider.setAttribute("aria-valuenow", String(step));
    this.#slider.setAttribute("aria-valuetext", beyond ? `${words}. ${beyond}` : words);
  }

  #hear() {
    this.#tone ??= new Tone(new AudioContext());
    if (this.#tone.isSounding) this.#stop();
    else {
      this.#tone.start({ hz: this.#choice.hz, level: LOUDNESS });
      find(this.#root, "[data-note-hear]").setAttribute("aria-pressed", "true");
    }
  }

  #stop() {
    this.#tone?.stop();
    find(this.#root, "[data-note-hear]").setAttribute("aria-pressed", "false");
  }
}

/** @param {ParentNode} place whose entries come to life */
export function enhanceNoteEntries(place) {
  for (const root of findAll(place, "[data-note-entry]")) new NoteEntry(root);
}

enhanceNoteEntries(document);
