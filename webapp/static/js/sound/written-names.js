// @ts-check
// What sounds, named as a written pitch of one instrument: the nearest quarter tone in words, and the
// rest in cents. The words are those of the server (analysis/pitch/wording.py, formatting.py).

const A4_CENTS = 6900;
const QUARTER_TONE = 50;
const MINUS = "−";

/** @typedef {"english" | "german" | "romance"} Names */
/** @typedef {Record<number, string>} Words for an alteration in cents */
/** @typedef {{name: string, sign: string, octave: number, rest: string, words: string}} NoteParts a note as its sign */
/** @typedef {(hz: number) => {note: string, pitch: string, parts?: NoteParts}} Namer the nearest quarter tone, and with the rest */

/** @type {Record<string, string>} */
const SOLFEGE = { C: "do", D: "ré", E: "mi", F: "fa", G: "sol", A: "la", B: "si" };

// The usual name of each quarter tone above C: the letter and its alteration in cents. A quarter tone
// is counted from the natural note beside it, from the lower one where both are natural.
/** @type {[string, number][]} */
const NAMES = [
  ["C", 0], ["C", 50], ["C", 100], ["D", -50], ["D", 0], ["D", 50], ["E", -100], ["E", -50],
  ["E", 0], ["E", 50], ["F", 0], ["F", 50], ["F", 100], ["G", -50], ["G", 0], ["G", 50],
  ["G", 100], ["A", -50], ["A", 0], ["A", 50], ["B", -100], ["B", -50], ["B", 0], ["B", 50],
];

/** @type {Record<string, Record<string, string>>} */
const GERMAN = {
  C: { 0: "C", 100: "Cis" }, D: { 0: "D" }, E: { 0: "E", "-100": "Es" }, F: { 0: "F", 100: "Fis" },
  G: { 0: "G", 100: "Gis" }, A: { 0: "A" }, B: { 0: "H", "-100": "B" },
};

/**
 * @typedef {object} Language
 * @property {(letter: string, alter: number, octave: number) => string} name
 * @property {string} one of one cent
 * @property {string} cents of several
 */

/** @type {Record<Names, Language>} */
const LANGUAGES = {
  english: {
    name(letter, alter, octave) {
      /** @type {Words} */
      const words = { "-100": " flat ", "-50": " quarter-flat ", 50: " quarter-sharp ", 100: " sharp " };
      return `${letter}${words[alter] ?? ""}${octave}`;
    },
    one: "cent",
    cents: "cents",
  },
  german: {
    name(letter, alter, octave) {
      /** @type {Words} */
      const rest = { "-50": ", Viertelton tiefer", 50: ", Viertelton höher" };
      return `${GERMAN[letter][alter] ?? GERMAN[letter][0]}${octave}${rest[alter] ?? ""}`;
    },
    one: "Cent",
    cents: "Cent",
  },
  romance: {
    name(letter, alter, octave) {
      /** @type {Words} */
      const words = { "-100": " bémol ", 100: " dièse " };
      /** @type {Words} */
      const rest = { "-50": ", quart de ton plus bas", 50: ", quart de ton plus haut" };
      return `${SOLFEGE[letter]}${words[alter] ?? ""}${octave}${rest[alter] ?? ""}`;
    },
    one: "cent",
    cents: "cents",
  },
};

/**
 * @param {{transpositionCents: number, tuningAHz: number, names: Names, signs?: [string, string][]}} options
 *   `transpositionCents` is from written to sounding (B-flat soprano: -200); `signs` has name and sign
 *   of every quarter tone from C
 * @returns {Namer}
 */
export function makeNamer({ transpositionCents, tuningAHz, names, signs }) {
  const { name, one, cents } = LANGUAGES[names];
  return (hz) => {
    const written = A4_CENTS + 1200 * Math.log2(hz / tuningAHz) - transpositionCents;
    const step = Math.round(written / QUARTER_TONE);
    const [letter, alter] = NAMES[((step % 24) + 24) % 24];
    const rest = Math.round(written - QUARTER_TONE * step);
    const octave = Math.floor(step / 24) - 1;
    const note = name(letter, alter, octave);
    const size = Math.abs(rest);
    const away = rest === 0 ? "" : `${rest < 0 ? MINUS : "+"}${size} ${size === 1 ? one : cents}`;
    const joint = note.includes(",") ? ", " : " ";
    const pitch = away ? `${note}${joint}${away}` : note;
    if (!signs) return { note, pitch };
    const [shown, sign] = signs[((step % 24) + 24) % 24];
    return { note, pitch, parts: { name: shown, sign, octave, rest: away, words: note } };
  };
}
