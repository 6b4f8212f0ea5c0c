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
  /**
   * @param {number} sampleRate
   * @param {{lowHz?: number, highHz?: number}} [range]
   */
  constructor(sampleRate, range) {
    this._estimator = new PitchEstimator(sampleRate, range);
    this._steadiness = new Steadiness();
    this._sampleRate = sampleRate;
    this._hop = Math.round(sampleRate / READINGS_PER_S);
    this._frame = new Float32Array(this._estimator.frameSize);
    this._forget(0);
  }

  _forget(firstFrame) {
    this._next = firstFrame; // number of the sample that should come next
    this._filled = 0;
    this._due = 0; // samples since the last reading
  }

  /**
   * Take samples in; a hole in the stream makes it start afresh.
   * @param {Float32Array} chunk
   * @param {number} firstFrame number of its first sample in the stream
   */
  push(chunk, firstFrame) {
    if (firstFrame !== this._next) this._forget(firstFrame);
    const { _frame: frame } = this;
    const fresh = chunk.subarray(Math.max(0, chunk.length - frame.length));
    frame.copyWithin(0, fresh.length);
    frame.set(fresh, frame.length - fresh.length);
    this._next = firstFrame + chunk.length;
    this._filled = Math.min(frame.length, this._filled + chunk.length);
    this._due += chunk.length;
  }

  /**
   * What the newest frame says, or null when no reading is due yet. Called late, it skips what lies
   * between: readings are never of the past.
   * @returns {Reading | null}
   */
  read() {
    if (this._filled < this._frame.length || this._due < this._hop) return null;
    this._due %= this._hop;
    const { f0Hz, confidence, levelDb, centre } = this._estimator.estimate(this._frame);
    const timeS = (this._next - this._frame.length + centre) / this._sampleRate;
    return { ...this._steadiness.add(timeS, f0Hz), levelDb, confidence };
  }
}
