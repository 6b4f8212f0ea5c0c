// @ts-check
// What the microphone does, in words, above its level. A warning stays long enough to be read.

import { find, show } from "../dom.js";
import { LevelMeter } from "../level-meter.js";

/** @typedef {import("../sound/recorder.js").RecorderState} RecorderState */

/** @type {Record<RecorderState, string>} while it counts, the seconds are said */
const WORDS = {
  counting: "",
  closed: "The microphone is off.",
  opening: "Opening the microphone…",
  idle: "",
  waiting: "Play when you are ready.",
  sounding: "Recording…",
};
const NOT_KEPT = {
  short: "That was too short. Hold the note for a moment.",
  noise: "That was noise without a tone, and is not kept.",
};

export class Meter {
  #level;
  #frame;
  #words;
  #word;
  #warning = "";
  /** @type {RecorderState} */
  #state = "closed";
  #countS = 0;

  /** @param {HTMLElement} stand */
  constructor(stand) {
    this.#level = new LevelMeter(stand);
    this.#frame = find(stand, "[data-level-meter]");
    this.#words = find(stand, "[data-microphone-words]");
    this.#word = find(stand, "[data-bar-word]");
  }

  /** @param {{processing: string[]}} microphone that was opened */
  begin(microphone) {
    this.#level.begin(microphone);
  }

  /** @param {RecorderState} state */
  showState(state) {
    this.#state = state;
    if (state === "closed") this.#warning = "";
    const isOn = state !== "closed" && state !== "opening";
    show(this.#frame, isOn);
    this.#word.textContent = isOn ? "Listening" : "";
    this.#write(this.#wordsNow());
  }

  /** @param {number} seconds until it listens */
  showCount(seconds) {
    this.#countS = seconds;
    this.#write(this.#wordsNow());
  }

  /** @param {import("../sound/cutting.js").Level} level some 20 times a second */
  showLevel(level) {
    const warning = this.#level.show(level);
    if (warning === this.#warning) return;
    this.#warning = warning;
    this.#write(this.#wordsNow());
  }

  /** @param {import("../sound/recorder.js").Dropped} why */
  showNotKept(why) {
    this.#write(NOT_KEPT[why]);
  }

  #wordsNow() {
    return this.#state === "counting" ? `Listening in ${this.#countS} s.` : WORDS[this.#state];
  }

  /** @param {string} words */
  #write(words) {
    this.#words.textContent = this.#state === "counting" ? words : this.#warning || words;
  }
}
