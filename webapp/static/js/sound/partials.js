// @ts-check
// Fine pitch: how far the phases of the partials advance.
//
// Three Hann windows of whole periods (at least five, at least 45 ms) end the frame; the second
// lies 5 ms and the third 30 ms after the first. At frequency k f0 the phase of partial k
// advances by 2 pi k f0 t over a time t. The short advance settles which turn the long one is in;
// the long one is some six times finer. Windows of whole periods put all other partials on the zeros
// of the window's spectrum, so that a weak partial beside a strong one is not pulled. Amplitudes are
// taken at k f0 itself, not at a bin beside it, and once more when f0 is known better.
//
// A partial with signal-to-noise power ratio S weighs by k^2 S, since its phase has the variance
// 1 / (2 S) and its pitch is its advance over k. Partials that disagree weigh less (Huber).
//
// Sources: Flanagan & Golden, Bell Syst. Tech. J. 45, 1966 (phase vocoder); Charpentier, ICASSP 1986
// (pitch from phase); Huber, Ann. Math. Stat. 35, 1964 (all from memory).
// The server's analysis/recording/phase_vocoder.py and phase_fit.py stand on the same ground.

import { makeHann } from "./fft.js";

const MIN_WINDOW_S = 0.045;
const MIN_PERIODS = 5;
const SHORT_S = 0.005;
const LONG_S = 0.03;
const MAX_PARTIALS = 24;
const FIRST_PARTIALS = 8;
const TOP_HZ = 8000;
const MIN_SNR = 6; // below it a phase wraps too often to be of use
const HUBER_LIMIT = 2.5;
const DISAGREEMENT = 1.7e-4; // a share of f0 (0.3 cent) by which real partials may differ
const SAFE_TURNS = 0.3;
const SLIDE = 0.004;
const CENTS = 1200 / Math.LN2;

/** @typedef {[number, number]} Amplitude real and imaginary part */
/** @typedef {{number: number, amplitudes: Amplitude[], power: number, snr: number}} SoundPartial */
/** @typedef {{f0Hz: number, doubtHz: number}} Estimate */

/**
 * Whole periods of f0 in samples.
 * @param {number} f0Hz
 * @param {number} sampleRate
 */
function chooseWindow(f0Hz, sampleRate) {
  const periods = Math.max(MIN_PERIODS, Math.ceil(MIN_WINDOW_S * f0Hz));
  return Math.round((periods * sampleRate) / f0Hz);
}

/**
 * Amplitude at a frequency: the sum of windowed samples times e^(-i turn n).
 * @param {Float64Array} windowed
 * @param {number} turn
 * @returns {Amplitude}
 */
function demodulate(windowed, turn) {
  const stepRe = Math.cos(turn);
  const stepIm = -Math.sin(turn);
  let [re, im, c, s] = [0, 0, 1, 0];
  for (let at = 0; at < windowed.length; at += 1) {
    re += windowed[at] * c;
    im += windowed[at] * s;
    const next = c * stepRe - s * stepIm;
    s = c * stepIm + s * stepRe;
    c = next;
  }
  return [re, im];
}

/**
 * Phase from one amplitude to another, less what was expected; -pi to pi.
 * @param {Amplitude} from
 * @param {Amplitude} to
 * @param {number} expected
 */
function advance([fromRe, fromIm], [toRe, toIm], expected) {
  const phase = Math.atan2(toIm * fromRe - toRe * fromIm, toRe * fromRe + toIm * fromIm) - expected;
  return phase - 2 * Math.PI * Math.round(phase / (2 * Math.PI));
}

/**
 * The three windowed stretches at the end of a frame, and how many samples lie between them.
 * @param {Float32Array | Float64Array} samples
 * @param {number} f0Hz
 * @param {number} sampleRate
 */
function cut(samples, f0Hz, sampleRate) {
  const size = Math.min(chooseWindow(f0Hz, sampleRate), Math.trunc(0.9 * samples.length));
  const long = Math.min(Math.round(LONG_S * sampleRate), samples.length - size);
  const short = Math.min(Math.round(SHORT_S * sampleRate), long);
  const window = makeHann(size);
  const start = samples.length - size - long;
  const stretches = [0, short, long].map((shift) => {
    const stretch = new Float64Array(size);
    for (let at = 0; at < size; at += 1) stretch[at] = samples[start + shift + at] * window[at];
    return stretch;
  });
  return { stretches, short, long, size, centre: start + (size + long) / 2 };
}

/**
 * Amplitudes and signal-to-noise of partials 1 to `count` at f0.
 * @param {{stretches: Float64Array[]}} cut
 * @param {number} f0Hz
 * @param {number} sampleRate
 * @param {number} count
 * @returns {SoundPartial[]}
 */
function readPartials({ stretches }, f0Hz, sampleRate, count) {
  const turn = (2 * Math.PI * f0Hz) / sampleRate;
  /** @type {SoundPartial[]} */
  const partials = [];
  /** @type {number[]} powers between the partials: noise */
  const between = [];
  for (let number = 1; number <= count; number += 1) {
    const amplitudes = stretches.map((stretch) => demodulate(stretch, number * turn));
    const [re, im] = demodulate(stretches[2], (number + 0.5) * turn);
    between.push(re * re + im * im);
    const [first, , last] = amplitudes.map(([x, y]) => x * x + y * y);
    const power = 0.5 * (first + last);
    partials.push({ number, amplitudes, power, snr: 0 });
  }
  for (const [at, partial] of partials.entries()) {
    // the median of five exponential powers is 0.78 of their mean (order statistics)
    const near = between.slice(Math.max(0, at - 2), at + 3).sort((one, other) => one - other);
    const noise = near[near.length >> 1] / 0.78;
    partial.snr = Math.max(partial.power / Math.max(noise, 1e-30) - 1, 0);
  }
  return partials;
}

/**
 * Radians that the fundamental advances beyond its prediction, by robust weighted least squares.
 * @param {{angle: number, number: number, snr: number}[]} observed
 * @param {number} disagreement
 */
function joinAdvances(observed, disagreement) {
  let radians = 0;
  let information = 0;
  for (let pass = 0; pass < 4; pass += 1) {
    let [sum, total] = [0, 0];
    for (const { angle, number, snr } of observed) {
      const sigma = Math.sqrt(1 / (snr * number * number) + disagreement * disagreement);
      const off = Math.abs(angle / number - radians) / sigma;
      const weight = (pass ? Math.min(1, HUBER_LIMIT / Math.max(off, 1e-9)) : 1) / (sigma * sigma);
      sum += (weight * angle) / number;
      total += weight;
    }
    radians = sum / total;
    information = total;
  }
  let misfit = 0;
  for (const { angle, number, snr } of observed) {
    const variance = 1 / (snr * number * number) + disagreement * disagreement;
    misfit += Math.min(25, (angle / number - radians) ** 2 / variance);
  }
  const excess = observed.length > 1 ? Math.max(1, misfit / (observed.length - 1)) : 1;
  return { radians, sigma: Math.sqrt(excess / information) };
}

/**
 * f0 corrected by the advance over `gap` samples, partials added as far as their turn is certain.
 * @param {SoundPartial[]} partials
 * @param {1 | 2} which of the later stretches
 * @param {number} gap
 * @param {number} sampleRate
 * @param {Estimate} estimate
 * @returns {Estimate}
 */
function correct(partials, which, gap, sampleRate, { f0Hz, doubtHz }) {
  const seconds = gap / sampleRate;
  const loudest = partials.reduce((one, other) => (other.power > one.power ? other : one)).number;
  let found = { f0Hz, doubtHz };
  for (let reach = 0; reach < partials.length; ) {
    const safe = Math.trunc(SAFE_TURNS / (found.doubtHz * seconds));
    reach = Math.min(partials.length, Math.max(reach + 1, safe, loudest));
    const turn = 2 * Math.PI * found.f0Hz * seconds;
    const observed = partials
      .slice(0, reach)
      .filter((partial) => partial.snr > MIN_SNR)
      .map(({ number, snr, amplitudes }) => ({
        number,
        snr,
        angle: advance(amplitudes[0], amplitudes[which], number * turn),
      }));
    if (!observed.length) continue;
    const { radians, sigma } = joinAdvances(observed, DISAGREEMENT * turn);
    const perHz = 2 * Math.PI * seconds;
    found = { f0Hz: found.f0Hz + radians / perHz, doubtHz: (3 * sigma) / perHz };
  }
  return found;
}

/**
 * The pitch at the end of a frame, from a first guess that is good to some 30 cents.
 * @param {Float32Array | Float64Array} samples
 * @param {number} sampleRate
 * @param {number} guessHz
 * @returns {{f0Hz: number, doubtCents: number, centre: number} | null} `centre` is where in the
 *   frame the pitch was read (in samples); null where no partial stands above the noise
 */
export function refinePitch(samples, sampleRate, guessHz) {
  const topHz = Math.min(TOP_HZ, 0.45 * sampleRate);
  const all = Math.max(1, Math.min(MAX_PARTIALS, Math.trunc(topHz / (1.03 * guessHz))));
  const cutting = cut(samples, guessHz, sampleRate);
  let found = { f0Hz: guessHz, doubtHz: 0.01 * guessHz };
  for (const count of [Math.min(all, FIRST_PARTIALS), all]) {
    const partials = readPartials(cutting, found.f0Hz, sampleRate, count);
    if (!partials.some((partial) => partial.snr > MIN_SNR)) return null;
    const roughly = correct(partials, 1, cutting.short, sampleRate, found);
    // a sliding pitch is not the same over the short advance as over the long one
    roughly.doubtHz = Math.max(roughly.doubtHz, SLIDE * roughly.f0Hz);
    found = correct(partials, 2, cutting.long, sampleRate, roughly);
    if (Math.abs(found.f0Hz / guessHz - 1) > 0.1) return null;
  }
  return { f0Hz: found.f0Hz, doubtCents: (CENTS * found.doubtHz) / 3 / found.f0Hz, centre: cutting.centre };
}
