// The pitch of one stretch of sound: which note (lines.js), and how high exactly (partials.js).
//
// No DOM, no audio interface, no clock: the same samples give the same answer anywhere.
//
// Limits: one note of 55 to 2000 Hz. Lines above 6 kHz are not looked at.

import { RealFft, makeHann } from "./fft.js";
import { dropHum, estimateFloor, findLines, findNote } from "./lines.js";
import { refinePitch } from "./partials.js";

const KEPT_HZ = 8000;
const LOW_HZ = 40;
const MIN_PERIODS = 9; // in a frame, so that the lines of the lowest note stand apart
const MIN_FRAME_S = 0.085;
const SILENCE_DB = -80; // what the server calls silence, of full scale
const MIN_CLARITY = 0.3;
const MIN_EXPLAINED = 0.6;
const MAX_DOUBT_CENTS = 12;
const EDGE = 1.06; // a semitone beyond the range is still told

/**
 * @typedef {object} Pitch
 * @property {number | null} f0Hz null: silence, noise, several notes at once, no one pitch
 * @property {number} confidence 0 to 1: the share of the sound's power that lies in the partials
 * @property {number} doubtCents one standard deviation of f0, as the partials tell it
 * @property {number} levelDb RMS over the end of the frame, of full scale
 * @property {number} centre where in the frame the pitch was read, in samples
 */

export class PitchEstimator {
  /**
   * @param {number} sampleRate
   * @param {{lowHz?: number, highHz?: number}} [range] the notes that are expected; a higher
   *   `lowHz` makes frames shorter
   */
  constructor(sampleRate, { lowHz = 55, highHz = 2000 } = {}) {
    this.sampleRate = sampleRate;
    this.range = { lowHz: lowHz / EDGE, highHz: highHz * EDGE };
    const needed = Math.max(MIN_FRAME_S, MIN_PERIODS / lowHz) * sampleRate;
    /** How many samples a frame has: a power of two. */
    this.frameSize = 2 ** Math.ceil(Math.log2(0.97 * needed));
    this._fft = new RealFft(this.frameSize);
    this._window = makeHann(this.frameSize);
    this._windowed = new Float64Array(this.frameSize);
    this._binHz = sampleRate / this.frameSize;
    const kept = Math.trunc(Math.min(KEPT_HZ, 0.45 * sampleRate) / this._binHz) + 1;
    this._power = new Float64Array(kept);
    this._floor = new Float64Array(kept);
  }

  /**
   * @param {Float32Array} frame `frameSize` samples, the newest last
   * @returns {Pitch}
   */
  estimate(frame) {
    const levelDb = measureLevel(frame.subarray(frame.length >> 1));
    const nothing = { f0Hz: null, confidence: 0, doubtCents: Infinity, levelDb, centre: frame.length / 2 };
    if (!(levelDb > SILENCE_DB)) return nothing; // NaN counts as silence
    const note = this._findNote(frame);
    if (note === null || note.explained < MIN_EXPLAINED) return nothing;
    const confidence = this._findClarity(note.f0Hz);
    if (confidence < MIN_CLARITY) return { ...nothing, confidence };
    const fine = refinePitch(frame, this.sampleRate, note.f0Hz);
    if (fine === null || fine.doubtCents > MAX_DOUBT_CENTS) return { ...nothing, confidence };
    return { ...fine, confidence, levelDb };
  }

  _findNote(frame) {
    const { _windowed: windowed, _window: window, _fft: fft, _power: power } = this;
    for (let at = 0; at < frame.length; at += 1) windowed[at] = frame[at] * window[at];
    fft.transform(windowed);
    for (let at = 0; at < power.length; at += 1) power[at] = fft.re[at] ** 2 + fft.im[at] ** 2;
    estimateFloor(power, this._binHz, this._floor);
    const lines = dropHum(findLines(power, this._floor, this._binHz));
    return findNote(lines, this._binHz, this.range);
  }

  /** The share of the power that lies within two bins of a multiple of f0. */
  _findClarity(f0Hz) {
    const { _power: power, _binHz: binHz } = this;
    let [total, near] = [0, 0];
    for (let at = Math.trunc(LOW_HZ / binHz); at < power.length; at += 1) {
      total += power[at];
      const number = Math.max(1, Math.round((at * binHz) / f0Hz));
      if (Math.abs(at - Math.round((number * f0Hz) / binHz)) <= 2) near += power[at];
    }
    return total > 0 ? near / total : 0;
  }
}

/** RMS in dB of full scale, the mean removed. */
function measureLevel(samples) {
  let [sum, squares] = [0, 0];
  for (const one of samples) {
    sum += one;
    squares += one * one;
  }
  const variance = squares / samples.length - (sum / samples.length) ** 2;
  return 10 * Math.log10(Math.max(variance, 1e-20));
}
