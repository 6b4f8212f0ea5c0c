// @ts-check
// Readings of a part, heard: the notes of one after the other, each half a second.

import { findAll, press, show } from "./dom.js";
import { Tone } from "./sound/tones.js";

const NOTE_MS = 500;

/** The notes of one button, sounding until the last or until it is pressed again. */
class Melody {
  /** @type {Tone | null} */
  static #tone = null;
  /** @type {number | undefined} */
  static #timer;
  /** @type {HTMLElement | null} */
  static #sounding = null;

  /** @param {HTMLElement} button */
  constructor(button) {
    const notes = (button.dataset.melody ?? "").split(" ").map(Number);
    show(button);
    button.addEventListener("click", () => {
      const was = Melody.#sounding;
      Melody.stop();
      if (was !== button) Melody.#play(button, notes);
    });
  }

  /** @param {HTMLElement} button @param {number[]} notes in Hz */
  static #play(button, [hz, ...rest]) {
    Melody.#tone ??= new Tone(new AudioContext());
    Melody.#tone.start({ hz });
    Melody.#sounding = button;
    press([button], () => true);
    Melody.#timer = window.setTimeout(() => (rest.length > 0 ? Melody.#play(button, rest) : Melody.stop()), NOTE_MS);
  }

  static stop() {
    window.clearTimeout(Melody.#timer);
    Melody.#tone?.stop();
    if (Melody.#sounding) press([Melody.#sounding], () => false);
    Melody.#sounding = null;
  }
}

for (const button of findAll(document, "[data-melody]")) new Melody(button);
