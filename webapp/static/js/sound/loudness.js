// @ts-check
// Loudness of a sound as ITU-R BS.1770-4 (annex 1) measures one channel: two filters that stand for
// the head and for the ear's weaker hearing of low tones, then the mean square. The filters' figures
// in the recommendation hold at 48 kHz, so sounds are brought to that rate first. Its gating, made
// for whole programmes, is left out: what is compared here is one held note.

export const LOUDNESS_RATE_HZ = 48000;

const HEAD = { b: [1.53512485958697, -2.69169618940638, 1.19839281085285], a: [-1.69065929318241, 0.73248077421585] };
const LOW_CUT = { b: [1, -2, 1], a: [-1.99004745483398, 0.99007225036621] };
const OFFSET_DB = -0.691;

/**
 * @param {Float32Array | Float64Array} samples
 * @param {{b: number[], a: number[]}} coefficients of a filter of second order
 */
function filter(samples, { b, a }) {
  const out = new Float64Array(samples.length);
  let x1 = 0;
  let x2 = 0;
  let y1 = 0;
  let y2 = 0;
  for (let n = 0; n < samples.length; n += 1) {
    const x = samples[n];
    const y = b[0] * x + b[1] * x1 + b[2] * x2 - a[0] * y1 - a[1] * y2;
    [x2, x1, y2, y1] = [x1, x, y1, y];
    out[n] = y;
  }
  return out;
}

/**
 * Measure how loud one channel is.
 * @param {Float32Array} samples at LOUDNESS_RATE_HZ, full scale -1 to 1
 * @returns {number} LKFS; -Infinity for silence
 */
export function measureLoudness(samples) {
  const heard = filter(filter(samples, HEAD), LOW_CUT);
  let sum = 0;
  for (const value of heard) sum += value * value;
  return OFFSET_DB + 10 * Math.log10(sum / Math.max(1, heard.length));
}

/**
 * Say how far each of several sounds is turned down so that all are as loud as the quietest.
 * Nothing is turned up: that could clip.
 * @param {number[]} loudnesses in LKFS
 * @returns {number[]} decibels, 0 or less
 */
export function matchLevels(loudnesses) {
  const heard = loudnesses.filter(Number.isFinite);
  const quietest = Math.min(...heard);
  return loudnesses.map((each) => (Number.isFinite(each) ? quietest - each : 0));
}
