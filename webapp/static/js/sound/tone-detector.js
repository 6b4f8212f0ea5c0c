// @ts-check
// Whether a stretch of sound holds a tone at all, or only noise: a fan, breath, a road.
//
// A tone shows as a line in the spectrum, well above the noise about it, that stays where it is from
// frame to frame; so does each note of a multiphonic. Lines of noise come and go. Frames of 0.17 s
// step on by 0.05 s, and a line that stays for four of them (0.32 s with their ends) is a tone: a note
// of 0.3 s fills as much but for the frames' soft edges. These figures are ours, set on made sounds.
//
// Limits: what hums, a voice among it, is a tone here.

import { FrameSpectrum } from "./frame-spectrum.js";

const FRAME_S = 0.17;
const HOP_S = 0.05;
const STAYS_FRAMES = 4;
const STAYS_WITHIN = 0.04; // of its frequency: a vibrato and a bend move it

/** @typedef {{hz: number, frames: number}} LastingLine a line and for how many frames it has been there */

/** Tells tones from noise at one sample rate. */
export class ToneDetector {
  #lens;
  #hop;

  /** @param {number} sampleRate */
  constructor(sampleRate) {
    this.#lens = new FrameSpectrum(2 ** Math.round(Math.log2(FRAME_S * sampleRate)), sampleRate);
    this.#hop = Math.round(HOP_S * sampleRate);
  }

  /**
   * Whether a tone sounds anywhere in it.
   * @param {Float32Array} samples
   */
  containsTone(samples) {
    /** @type {LastingLine[]} */
    let before = [];
    for (let end = this.#lens.size; end <= samples.length; end += this.#hop) {
      const lines = this.#lens.findLines(samples.subarray(0, end));
      before = lines.map(({ hz }) => ({ hz, frames: 1 + longest(before, hz, this.#lens.binHz) }));
      if (before.some(({ frames }) => frames >= STAYS_FRAMES)) return true;
    }
    return false;
  }
}

/**
 * For how many frames there has been a line about here.
 * @param {LastingLine[]} before
 * @param {number} hz
 * @param {number} binHz
 */
function longest(before, hz, binHz) {
  const reach = Math.max(binHz, STAYS_WITHIN * hz);
  const same = before.filter((line) => Math.abs(line.hz - hz) <= reach);
  return Math.max(0, ...same.map(({ frames }) => frames));
}
