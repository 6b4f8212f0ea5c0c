// @ts-check
// From a stream of samples to readings: some thirty a second, each from the newest frame.
//
// A reading says what stands at the end of what was heard: its time is the middle of the stretch that
// the pitch was read from (38 ms before the newest sample for most notes, 58 ms for the lowest).
// What `steadiness.js` adds: whether it is a note at all, the held pitch and how steady it is.

import { PitchEstimator } from "./pitch.js";
import { Steadiness } from "./steadiness.js";

const READINGS_PER_S = 30;

/**
 * @typedef {object} Reading
 * @property {number} timeS since the first frame of the stream
 * @property {number | null} f0Hz the pitch now; null: no note
 * @property {number} levelDb RMS of full scale
 * @property {number | null} heldHz the middle pitch of the last half second of this note
 * @property {number | null} spreadCents how far the pitch scatters about it (1.4826 times the median
 *   absolute deviation, as the server's spread); null before the note has stood for 0.3 s
 * @property {number} confidence 0 to 1: the share of the power that lies in the note's partials
 * @property {number} [tookMs] how long the worker was at it
 */

export class PitchTracker {
  #estimator;
  #steadiness = new Steadiness();
  #sampleRate;
  #hop;
  #frame;
  #next = 0; // number of the sample that should come next
  #filled = 0;
  #due = 0; // samples since the last reading

  /**
   * @param {number} sampleRate
   * @param {Partial<import("./lines.js").Range>} [range]
   */
  constructor(sampleRate, range) {
    this.#estimator = new PitchEstimator(sampleRate, range);
    this.#sampleRate = sampleRate;
    this.#hop = Math.round(sampleRate / READINGS_PER_S);
    this.#frame = new Float32Array(this.#estimator.frameSize);
  }

  /** @param {number} firstFrame */
  #forget(firstFrame) {
    this.#next = firstFrame;
    this.#filled = 0;
    this.#due = 0;
  }

  /**
   * Take samples in; a hole in the stream makes it start afresh.
   * @param {Float32Array} chunk
   * @param {number} firstFrame number of its first sample in the stream
   */
  push(chunk, firstFrame) {
    if (firstFrame !== this.#next) this.#forget(firstFrame);
    const frame = this.#frame;
    const fresh = chunk.subarray(Math.max(0, chunk.length - frame.length));
    frame.copyWithin(0, fresh.length);
    frame.set(fresh, frame.length - fresh.length);
    this.#next = firstFrame + chunk.length;
    this.#filled = Math.min(frame.length, this.#filled + chunk.length);
    this.#due += chunk.length;
  }

  /**
   * What the newest frame says, or null when no reading is due yet. Called late, it skips what lies
   * between: readings are never of the past.
   * @returns {Reading | null}
   */
  read() {
    if (this.#filled < this.#frame.length || this.#due < this.#hop) return null;
    this.#due %= this.#hop;
    const { f0Hz, confidence, levelDb, centre } = this.#estimator.estimate(this.#frame);
    const timeS = (this.#next - this.#frame.length + centre) / this.#sampleRate;
    return { ...this.#steadiness.add(timeS, f0Hz), levelDb, confidence };
  }
}
