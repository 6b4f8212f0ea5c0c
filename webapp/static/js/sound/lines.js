// @ts-check
// Which note is it, to some 10 cents, without octave or twelfth slips.
//
// A spectrum is reduced to its lines: peaks well above the noise floor and within 35 dB of the
// strongest. Candidates are the strongest lines divided by 1, 2, ... 12. The note is the highest
// candidate whose multiples explain nearly all lines: one an octave or a twelfth too high leaves
// lines over, and one too low explains no more than the true one. A line counts by the fourth root
// of its power, so that a fundamental far under its neighbours still counts and a missing one is
// not missed.
//
// The server's analysis/recording/coarse_pitch.py goes the same way, so that both agree on the note.
// Sources: judging a candidate by how predicted and measured partials match, Maher & Beauchamp,
// JASA 95(4), 1994; the top of a peak by a parabola through three log powers, Smith & Serra, PARSHL,
// ICMC 1987 (both from memory).

const LINE_OVER_FLOOR = 20; // in power; white noise exceeds it once in e^20 bins
const LINE_UNDER_STRONGEST = 10 ** -3.5;
const MAX_LINES = 24;
const STRONG_LINES = 3;
const MAX_DIVISOR = 12;
const EXPLAINED_SHARE = 0.85;
const [LOWEST_HZ, HIGHEST_HZ] = [40, 6000];
const MAINS_HZ = [50, 60];
const HUM_ORDERS = 6;
const HUM_REACH_HZ = 1;
const TINY = 1e-30;

/** @typedef {{hz: number, power: number}} Line one line of a power spectrum */
/** @typedef {{lowHz: number, highHz: number}} Range the notes that are expected */

/**
 * Mean noise power at each bin, from medians over bands of a quarter of their frequency: white noise
 * has exponentially distributed power, whose mean is its median / ln 2.
 * @param {Float64Array} power
 * @param {number} binHz
 * @param {Float64Array} floor filled
 */
export function estimateFloor(power, binHz, floor) {
  let low = 0;
  while (low < power.length) {
    const width = Math.max(4, Math.trunc(Math.max(130, 0.25 * low * binHz) / binHz));
    // a last band of under four bins joins the one before
    const high = power.length - low - width < 4 ? power.length : low + width;
    const ordered = power.slice(low, high).sort();
    const middle = ordered.length >> 1;
    const median = ordered.length % 2 ? ordered[middle] : 0.5 * (ordered[middle - 1] + ordered[middle]);
    floor.fill(median / Math.LN2, low, high);
    low = high;
  }
}

/**
 * The strongest lines of a power spectrum, the strongest first.
 * @param {Float64Array} power
 * @param {Float64Array} floor
 * @param {number} binHz
 * @returns {Line[]}
 */
export function findLines(power, floor, binHz) {
  const last = Math.min(power.length - 2, Math.trunc(HIGHEST_HZ / binHz));
  let strongest = 0;
  for (let at = 0; at <= last; at += 1) strongest = Math.max(strongest, power[at]);
  const lines = [];
  for (let at = Math.ceil(LOWEST_HZ / binHz); at < last; at += 1) {
    const top = power[at];
    if (top <= power[at - 1] || top < power[at + 1]) continue;
    if (top <= Math.max(LINE_OVER_FLOOR * floor[at], LINE_UNDER_STRONGEST * strongest)) continue;
    const [left, middle, right] = [power[at - 1], top, power[at + 1]].map((one) => Math.log(one + TINY));
    const shift = (0.5 * (left - right)) / (left - 2 * middle + right);
    lines.push({ hz: (at + shift) * binHz, power: top });
  }
  lines.sort((one, other) => other.power - one.power);
  return lines.slice(0, MAX_LINES);
}

/**
 * The lines without a series of low multiples of the mains that is 6 dB under the strongest line.
 * @param {Line[]} lines the strongest first
 */
export function dropHum(lines) {
  let kept = lines;
  for (const mainsHz of MAINS_HZ) {
    const order = (/** @type {Line} */ line) => Math.round(line.hz / mainsHz);
    const isHum = (/** @type {Line} */ line) =>
      order(line) > 0 && order(line) <= HUM_ORDERS && Math.abs(line.hz - order(line) * mainsHz) < HUM_REACH_HZ;
    if (!lines.length || isHum(lines[0])) continue; // the note itself may be the series
    const hum = lines.filter((line) => isHum(line) && line.power < 0.25 * lines[0].power);
    if (hum.filter((line) => order(line) <= HUM_ORDERS - 2).length < 2) continue;
    kept = kept.filter((line) => !hum.includes(line));
  }
  return kept;
}

/**
 * The note that the lines belong to, and the share of them (by weight, 0 to 1) that it explains.
 * @param {Line[]} lines the strongest first
 * @param {number} binHz
 * @param {Range} range
 * @returns {{f0Hz: number, explained: number} | null}
 */
export function findNote(lines, binHz, { lowHz, highHz }) {
  const weights = lines.map((line) => line.power ** 0.25);
  const fits = [];
  for (const { hz } of lines.slice(0, STRONG_LINES)) {
    for (let divisor = 1; divisor <= MAX_DIVISOR; divisor += 1) {
      const candidateHz = hz / divisor;
      if (candidateHz < lowHz || candidateHz > highHz) continue;
      fits.push(fitCandidate(candidateHz, lines, weights, binHz));
    }
  }
  if (!fits.length) return null;
  const most = Math.max(...fits.map((fit) => fit.explained));
  const enough = fits.filter((fit) => fit.explained >= EXPLAINED_SHARE * most);
  return enough.reduce((one, other) => (other.f0Hz > one.f0Hz ? other : one));
}

/**
 * A candidate fitted to the lines near its multiples, and the share of the lines it explains.
 * @param {number} candidateHz
 * @param {Line[]} lines
 * @param {number[]} weights one for each line
 * @param {number} binHz
 */
function fitCandidate(candidateHz, lines, weights, binHz) {
  let f0Hz = candidateHz;
  let explained = 0;
  for (let pass = 0; pass < 3; pass += 1) {
    let [matched, total, product, normal] = [0, 0, 0, 0];
    for (const [at, { hz }] of lines.entries()) {
      const number = Math.max(1, Math.round(hz / f0Hz));
      const tolerance = Math.min(binHz + 0.006 * hz, 0.15 * f0Hz);
      total += weights[at];
      if (Math.abs(hz - number * f0Hz) >= tolerance) continue;
      matched += weights[at];
      product += weights[at] * number * hz;
      normal += weights[at] * number * number;
    }
    explained = matched / total;
    if (normal > 0) f0Hz = product / normal;
  }
  return { f0Hz, explained };
}
