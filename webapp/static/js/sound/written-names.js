// @ts-check
// What sounds, named as a written pitch of one instrument: the nearest quarter tone, and the rest in
// cents. The names of the quarter tones are the server's (webapp/presenting/notes.py).

const A4_CENTS = 6900;
const QUARTER_TONE = 50;
const STEPS = 24;
const MINUS = "−";

/** @typedef {import("../said.js").Note} Note */
/** @typedef {import("../said.js").Said} Said */
/** @typedef {{note: Said, pitch: Said}} Heard the nearest quarter tone, and with the rest */
/** @typedef {(hz: number) => Heard} Namer */
/**
 * @typedef {object} Names of the quarter tones above C, before and after the octave; `one` cent, `more` cents
 * @property {{words: [string, string], shown: [Note["shown"], Note["shown"]]}[]} steps
 * @property {string} one
 * @property {string} more
 */

/** @param {Names["steps"][number]} step @param {number} octave @returns {Note} */
function nameIn({ words, shown: [before, after] }, octave) {
  return { words: words.join(String(octave)), shown: [...before, ["", String(octave)], ...after] };
}

/**
 * @param {{transpositionCents: number, tuningAHz: number, names: Names}} options
 *   `transpositionCents` is from written to sounding (B-flat soprano: -200)
 * @returns {Namer}
 */
export function makeNamer({ transpositionCents, tuningAHz, names: { steps, one, more } }) {
  return (hz) => {
    const written = A4_CENTS + 1200 * Math.log2(hz / tuningAHz) - transpositionCents;
    const step = Math.round(written / QUARTER_TONE);
    const note = nameIn(steps[((step % STEPS) + STEPS) % STEPS], Math.floor(step / STEPS) - 1);
    const rest = Math.round(written - QUARTER_TONE * step);
    if (rest === 0) return { note, pitch: note };
    const size = Math.abs(rest);
    const joint = note.words.includes(",") ? ", " : " ";
    return { note, pitch: [note, `${joint}${rest < 0 ? MINUS : "+"}${size} ${size === 1 ? one : more}`] };
  };
}
