// @ts-check
// One length of frame looked at: its spectrum, the note in it, and how clear that note is.

import { RealFft, makeHann } from "./fft.js";
import { dropHum, estimateFloor, findLines, findNote } from "./lines.js";

const KEPT_HZ = 8000;
const LOW_HZ = 40;
const LINE_BINS = 2; // half of a Hann window's line

export class FrameSpectrum {
  #fft;
  #window;
  #windowed;
  #power;
  #floor;

  /** @param {number} size samples, a power of two @param {number} sampleRate */
  constructor(size, sampleRate) {
    this.size = size;
    this.binHz = sampleRate / size;
    this.#fft = new RealFft(size);
    this.#window = makeHann(size);
    this.#windowed = new Float64Array(size);
    const kept = Math.trunc(Math.min(KEPT_HZ, 0.45 * sampleRate) / this.binHz) + 1;
    this.#power = new Float64Array(kept);
    this.#floor = new Float64Array(kept);
  }

  /**
   * The note at the end of `samples`.
   * @param {Float32Array} samples `size` or more
   * @param {import("./lines.js").Range} range
   * @returns {{f0Hz: number, explained: number, clarity: number} | null} `explained` is the share of
   *   the lines (by weight) and `clarity` that of the power that belong to the note
   */
  find(samples, range) {
    const lines = dropHum(this.findLines(samples));
    const note = findNote(lines, this.binHz, range);
    return note && { ...note, clarity: this.#findClarity(note.f0Hz) };
  }

  /**
   * The lines at the end of `samples`, the strongest first.
   * @param {Float32Array} samples `size` or more
   */
  findLines(samples) {
    this.#look(samples.subarray(samples.length - this.size));
    return findLines(this.#power, this.#floor, this.binHz);
  }

  /** @param {Float32Array} frame */
  #look(frame) {
    const [windowed, window, fft, power] = [this.#windowed, this.#window, this.#fft, this.#power];
    for (let at = 0; at < this.size; at += 1) windowed[at] = frame[at] * window[at];
    fft.transform(windowed);
    for (let at = 0; at < power.length; at += 1) power[at] = fft.re[at] ** 2 + fft.im[at] ** 2;
    estimateFloor(power, this.binHz, this.#floor);
  }

  /** The share of the power that lies within two bins of a multiple of f0. @param {number} f0Hz */
  #findClarity(f0Hz) {
    const { binHz } = this;
    const power = this.#power;
    let [total, near] = [0, 0];
    for (let at = Math.trunc(LOW_HZ / binHz); at < power.length; at += 1) {
      total += power[at];
      const number = Math.max(1, Math.round((at * binHz) / f0Hz));
      if (Math.abs(at - Math.round((number * f0Hz) / binHz)) <= LINE_BINS) near += power[at];
    }
    return total > 0 ? near / total : 0;
  }
}
