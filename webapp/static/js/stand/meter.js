// What the microphone does, in words, above its level. A warning stays long enough to be read.

import { LevelMeter } from "../level-meter.js";

const WORDS = {
  closed: "The microphone is off.",
  opening: "Opening the microphone…",
  idle: "Listening. Nothing is kept here.",
  waiting: "Play when you are ready.",
  sounding: "Recording…",
};
const NOT_KEPT = {
  short: "That was too short. Hold the note for a moment.",
  noise: "That was noise without a tone, and is not kept.",
};

export class Meter {
  /** @param {HTMLElement} stand */
  constructor(stand) {
    this._level = new LevelMeter(stand);
    this._frame = stand.querySelector("[data-level-meter]");
    this._words = stand.querySelector("[data-microphone-words]");
    this._warning = "";
    this._state = "closed";
    this._countS = 0;
  }

  /** @param {{processing: string[]}} microphone that was opened */
  begin(microphone) {
    this._level.begin(microphone);
  }

  /** @param {string} state of the recorder */
  showState(state) {
    this._state = state;
    if (state === "closed") this._warning = "";
    this._frame.toggleAttribute("hidden", state === "closed" || state === "opening");
    this._write(this._wordsNow());
  }

  /** @param {number} seconds until it listens */
  showCount(seconds) {
    this._countS = seconds;
    this._write(this._wordsNow());
  }

  /** @param {object} level as the cutter says it, some 20 times a second */
  showLevel(level) {
    const warning = this._level.show(level);
    if (warning === this._warning) return;
    this._warning = warning;
    this._write(this._wordsNow());
  }

  /** @param {"short" | "noise"} why */
  showNotKept(why) {
    this._write(NOT_KEPT[why]);
  }

  _wordsNow() {
    return this._state === "counting" ? `Listening in ${this._countS} s.` : WORDS[this._state];
  }

  _write(words) {
    this._words.textContent = this._state === "counting" ? words : this._warning || words;
  }
}
