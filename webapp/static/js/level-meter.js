// @ts-check
// The microphone's level as a bar and in words. Peaks stay for a moment, so that they can be read.

import { find, setAttributes } from "./dom.js";

const LOWEST_DB = -60;
const WIDTH = 600;
const PEAK_STAYS = 30; // levels, so 1.5 s
const CLIPPING_STAYS = 60;
const WORDS_EVERY = 5;
const NOTHING_DB = -89;
const CLIPPED = "Too loud for the microphone: the sound is cut off at the top. Move away or turn the input down.";
const NOTHING = "Nothing at all comes from the microphone. Is it muted or switched off?";

/** One meter. */
export class LevelMeter {
  #find;
  #peak = { db: LOWEST_DB, age: 0 };
  #sinceClipped = Infinity;
  #silentFor = 0;
  #count = 0;
  #processing = "";

  /** @param {HTMLElement} place */
  constructor(place) {
    this.#find = (/** @type {string} */ name) => find(place, `[data-level-${name}]`, Element);
  }

  /** Begin anew with a microphone. @param {{processing: string[]}} microphone */
  begin({ processing }) {
    this.#peak = { db: LOWEST_DB, age: 0 };
    this.#sinceClipped = Infinity;
    this.#silentFor = 0;
    this.#processing = processing.length
      ? `This browser changes the sound (${processing.join(", ")}): pitch holds, brightness and levels may not.`
      : "";
  }

  /**
   * Show a level.
   * @param {import("./sound/cutting.js").Level} level
   * @returns {string} what the player should know about it, or nothing
   */
  show({ rmsDb, peakDb, isClipped, floorDb }) {
    this.#peak.age += 1;
    if (peakDb >= this.#peak.db || this.#peak.age > PEAK_STAYS) this.#peak = { db: peakDb, age: 0 };
    this.#sinceClipped = isClipped ? 0 : this.#sinceClipped + 1;
    this.#silentFor = peakDb <= NOTHING_DB ? this.#silentFor + 1 : 0;
    setAttributes(this.#find("now"), { width: placeOf(rmsDb) });
    setAttributes(this.#find("peak"), { d: `M${placeOf(this.#peak.db)} 0v20` });
    setAttributes(this.#find("room"), { d: `M${placeOf(floorDb)} 0v20` });
    if (this.#count % WORDS_EVERY === 0) this.#say(rmsDb);
    this.#count += 1;
    if (this.#sinceClipped < CLIPPING_STAYS) return CLIPPED;
    if (this.#silentFor > CLIPPING_STAYS) return NOTHING;
    return this.#processing;
  }

  /** @param {number} rmsDb */
  #say(rmsDb) {
    const isClipped = this.#sinceClipped < CLIPPING_STAYS;
    const words = `${format(rmsDb)} dB, loudest ${format(this.#peak.db)} dB${isClipped ? ": too loud" : ""}`;
    this.#find("words").textContent = words;
    const now = Math.round(Math.max(LOWEST_DB, Math.min(0, rmsDb)));
    setAttributes(this.#find("meter"), { "aria-valuenow": now, "aria-valuetext": words });
  }
}

/** @param {number} db */
function placeOf(db) {
  return Math.round(WIDTH * Math.min(1, Math.max(0, 1 - db / LOWEST_DB)));
}

/** @param {number} db */
function format(db) {
  const whole = Math.round(Math.max(-90, db));
  return whole < 0 ? `−${-whole}` : "0";
}
