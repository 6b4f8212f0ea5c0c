// @ts-check
// Sounds made from seeds and formulas, and cut by the page's own cutter.

import { NoteCutter } from "../../../webapp/static/js/sound/cutting.js";
import { ToneDetector } from "../../../webapp/static/js/sound/tone-detector.js";

/** @typedef {import("../../../webapp/static/js/sound/cutting.js").Note} Note */

/**
 * Parts come one after the other: a tone {hz, db, s} with {attackS, releaseS, echoS: time to fall by
 * 60 dB, dips: [[from, to], ...]}, or {s} of nothing. A part {noise, db, s} is noise: white, or brown
 * (6 dB less per octave above 30 Hz), in which a sine may be played for a second. dB are of the mean
 * square, 0 at a full square wave.
 * @typedef {object} Part
 * @property {number} s
 * @property {number} [db]
 * @property {number} [hz]
 * @property {number} [attackS]
 * @property {number} [releaseS]
 * @property {number} [echoS]
 * @property {[number, number][]} [dips]
 * @property {"white" | "brown"} [noise]
 * @property {number} [toneDb]
 * @property {number} [fromS]
 */

/**
 * @typedef {object} Case
 * @property {Part[]} parts
 * @property {number} noiseDb of the noise that lies under everything
 * @property {number} rate
 * @property {number} seed
 * @property {Record<string, number>} options of the cutter
 * @property {number} chunk frames that come at once
 * @property {number} arm when the cutter is armed, in seconds
 * @property {[number, number] | null} lose from when to when frames are lost, in seconds
 * @property {number} disarmAt in seconds; 0: never
 * @property {number | null} endAfter what a silence must last to end a note, in seconds
 * @property {number} off for how long there is exact silence at first, in seconds
 */

const amplitude = (/** @type {number} */ db) => 10 ** (db / 20);

/** Numbers from 0 to 1 by a linear congruential generator (Numerical Recipes' constants). @param {number} seed */
function makeChance(seed) {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

/**
 * Add noise, and the sine in it.
 * @param {Float32Array} samples
 * @param {Part} part
 * @param {number} rate
 * @param {() => number} chance
 */
function addNoise(samples, { noise, db = 0, s, hz, toneDb = 0, fromS = 0 }, rate, chance) {
  const follow = noise === "brown" ? (2 * Math.PI * 30) / rate : 1;
  // of a one-pole low-pass of white noise: variance follow / (2 - follow)
  const gain = amplitude(db) * Math.sqrt((3 * (2 - follow)) / follow);
  let value = 0;
  for (let t = 0; t < Math.round(s * rate); t += 1) {
    value += follow * (2 * chance() - 1 - value);
    const isPlayed = hz && t >= Math.round(fromS * rate) && t < Math.round((fromS + 1) * rate);
    const wave = Math.SQRT2 * Math.sin((2 * Math.PI * (hz ?? 0) * t) / rate);
    samples[t] += gain * value + (isPlayed ? amplitude(toneDb) * wave : 0);
  }
}

/**
 * Add a tone; what is above full scale is cut later.
 * @param {Float32Array} samples
 * @param {Part} part
 * @param {number} rate
 */
function addTone(samples, { hz = 0, db = 0, s, attackS, releaseS, echoS, dips = [] }, rate) {
  const frames = (/** @type {number} */ seconds) => Math.round(seconds * rate);
  const count = frames(s);
  const tail = echoS ? frames(echoS) : 0;
  // partials 1, 3, 5 as of a tube closed at one end; mean square 1 in all
  const weights = [[1, 0.9], [3, 0.38], [5, 0.2]];
  const whole = Math.hypot(...weights.map(([, weight]) => weight)) / Math.SQRT2;
  for (let t = 0; t < count + tail && t < samples.length; t += 1) {
    let gain = amplitude(db) / whole;
    if (attackS) gain *= Math.min(1, t / frames(attackS));
    const left = Math.max(0, count - t);
    if (releaseS) gain *= Math.min(1, left / frames(releaseS));
    if (t >= count) gain *= 10 ** ((-3 * (t - count)) / tail);
    if (dips.some(([from, to]) => t >= frames(from) && t < frames(to))) gain = 0;
    let value = 0;
    for (const [number, weight] of weights) value += weight * Math.sin((2 * Math.PI * number * hz * t) / rate);
    samples[t] += gain * value;
  }
}

/** @param {Case} made @returns {Float32Array} */
function makeSamples({ parts, noiseDb, rate, seed, off }) {
  const chance = makeChance(seed);
  const samples = new Float32Array(parts.reduce((sum, { s }) => sum + Math.round(s * rate), 0));
  let place = 0;
  for (const part of parts) {
    const rest = samples.subarray(place);
    if (part.noise) addNoise(rest, part, rate, chance);
    else if (part.db !== undefined) addTone(rest, part, rate);
    place += Math.round(part.s * rate);
  }
  const noise = amplitude(noiseDb) * Math.sqrt(3); // even noise of mean square 1
  for (let t = 0; t < samples.length; t += 1) {
    const value = samples[t] + (noise > 1e-8 ? noise * (2 * chance() - 1) : 0);
    samples[t] = t < Math.round(off * rate) ? 0 : Math.max(-1, Math.min(1, value));
  }
  return samples;
}

/** Let the cutter hear the parts, and say what it found. @param {Case} made */
export function cut(made) {
  const { rate, options, chunk, arm, lose, disarmAt, endAfter } = made;
  const samples = makeSamples(made);
  const found = {
    notes: /** @type {object[]} */ ([]),
    begun: /** @type {[number, number][]} */ ([]),
    dropped: 0,
    noises: /** @type {number[]} */ ([]),
    levels: /** @type {object[]} */ ([]),
  };
  let heard = 0;
  const detector = new ToneDetector(rate);
  const cutter = new NoteCutter(rate, {
    onBegin: (frame) => {
      found.begun.push([frame, heard]);
      cutter.endAfter(endAfter ?? undefined);
    },
    containsTone: (stretch) => detector.containsTone(stretch),
    onNoise: () => found.noises.push(heard),
    onDrop: () => {
      found.dropped += 1;
    },
    onLevel: (level) => found.levels.push(level),
    onEnd: (note) => found.notes.push(describeNote(note, samples, heard)),
  }, options);
  const frames = (/** @type {number} */ seconds) => Math.round(seconds * rate);
  const isNow = (/** @type {number} */ s, /** @type {number} */ from) =>
    s > 0 && from >= frames(s) && from < frames(s) + chunk;
  if (arm === 0) cutter.arm();
  for (let from = 0; from < samples.length; from += chunk) {
    if (isNow(arm, from)) cutter.arm();
    if (isNow(disarmAt, from)) cutter.disarm();
    if (lose && from >= frames(lose[0]) && from < frames(lose[1])) continue;
    heard = Math.min(samples.length, from + chunk);
    cutter.push(samples.slice(from, heard), from);
  }
  return found;
}

/** @param {Note} note @param {Float32Array} samples that it was cut out of @param {number} heard */
function describeNote({ samples: cut, ...note }, samples, heard) {
  const source = samples.subarray(note.firstFrame, note.lastFrame + 1);
  const isExact = cut.length === source.length && cut.every((one, at) => one === source[at]);
  return { ...note, heard, isExact, length: cut.length };
}
