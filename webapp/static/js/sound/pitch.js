// @ts-check
// The pitch of one stretch of sound: which note (frame-spectrum.js, lines.js), and how high exactly (partials.js).
//
// No DOM, no audio interface, no clock: the same samples give the same answer anywhere.
//
// Low notes need long frames, or their partials run together; in high ones a long frame smears what
// moves. So a frame of some 85 ms is looked at first, and twice that only for the lowest octave.
//
// Limits: one note of 55 to 2000 Hz. Lines above 6 kHz are not looked at.

import { FrameSpectrum } from "./frame-spectrum.js";
import { refinePitch } from "./partials.js";

const MIN_PERIODS = 9; // in a frame, so that the partials of the note stand apart
const MIN_FRAME_S = 0.085;
const SILENCE_DB = -80; // of full scale; what the server calls silence
const MIN_CLARITY = 0.3;
const MIN_EXPLAINED = 0.75; // a note alone with a wide vibrato has 0.8 and more, two notes at once less
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
  #spectra;

  /**
   * @param {number} sampleRate
   * @param {Partial<import("./lines.js").Range>} [range] the notes that are expected; a higher
   *   `lowHz` makes frames shorter
   */
  constructor(sampleRate, { lowHz = 55, highHz = 2000 } = {}) {
    this.sampleRate = sampleRate;
    this.range = { lowHz: lowHz / EDGE, highHz: highHz * EDGE };
    const short = chooseSize(MIN_FRAME_S * sampleRate);
    const long = chooseSize((MIN_PERIODS / lowHz) * sampleRate);
    this.#spectra = [new FrameSpectrum(short, sampleRate)];
    if (long > short) this.#spectra.push(new FrameSpectrum(long, sampleRate));
    /** How many samples a frame has: a power of two. */
    this.frameSize = Math.max(short, long);
  }

  /**
   * @param {Float32Array} frame `frameSize` samples, the newest last
   * @returns {Pitch}
   */
  estimate(frame) {
    const levelDb = measureLevel(frame.subarray(frame.length - this.#spectra[0].size));
    const nothing = { f0Hz: null, confidence: 0, doubtCents: Infinity, levelDb, centre: frame.length / 2 };
    if (!(levelDb > SILENCE_DB)) return nothing; // NaN counts as silence
    const note = this.#findNote(frame);
    if (note === null) return nothing;
    const { f0Hz, explained, clarity: confidence } = note;
    if (explained < MIN_EXPLAINED || confidence < MIN_CLARITY) return { ...nothing, confidence };
    const fine = refinePitch(frame, this.sampleRate, f0Hz);
    if (fine === null || fine.doubtCents > MAX_DOUBT_CENTS) return { ...nothing, confidence };
    return { ...fine, confidence, levelDb };
  }

  /** What the short frame says, if it is long enough even for the octave below; else the long one. @param {Float32Array} frame */
  #findNote(frame) {
    const [short, long] = this.#spectra;
    const note = short.find(frame, this.range);
    if (!long || (note && 0.5 * note.f0Hz * short.size >= MIN_PERIODS * this.sampleRate)) return note;
    return long.find(frame, this.range);
  }
}

/** A power of two that is not much under what is needed. @param {number} samples */
function chooseSize(samples) {
  return 2 ** Math.ceil(Math.log2(0.97 * samples));
}

/** RMS in dB of full scale, the mean removed. @param {Float32Array} samples */
function measureLevel(samples) {
  let [sum, squares] = [0, 0];
  for (const one of samples) {
    sum += one;
    squares += one * one;
  }
  const variance = squares / samples.length - (sum / samples.length) ** 2;
  return 10 * Math.log10(Math.max(variance, 1e-20));
}
