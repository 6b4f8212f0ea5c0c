// @ts-check
// One note as it is chosen by touch: a line or space, a sign of the player's system, and cents beside
// it. Sizes are whole numbers of 1/3000 cent, as the page sends them, so that thirds of a tone and
// thousandths of a cent stay exact. A step is a line or space counted from C0: C4 is 28.

export const UNITS_PER_CENT = 3000;
const STEPS_PER_OCTAVE = 7;
const NATURAL_CENTS = [0, 200, 400, 500, 700, 900, 1100]; // C D E F G A B
const LETTERS = "CDEFGAB";
const MINUS = "−";
const SEMITONE = 100 * UNITS_PER_CENT;
const LARGEST_ALTER = 250 * UNITS_PER_CENT;
const LARGEST_REST = 99 * UNITS_PER_CENT;
const LOWEST_STEP = 14; // C2
const HIGHEST_STEP = 49; // C7
const A4_CENTS = 6900;

/** @typedef {{id: string, right: number}} Glyph its outline, and where its ink ends */
/** @typedef {{size: number, words: string, characters: string, glyphs: Glyph[]}} Sign */
/** @typedef {{step: number, size: number, name: string}} End */
/**
 * @typedef {object} View what the page says of the instrument and the player's signs
 * @property {Sign[]} signs from the lowest up
 * @property {string[]} letters names of C to B in the player's language
 * @property {string} clef the id of its outline
 * @property {string} head the id of the notehead's
 * @property {number} clefStep
 * @property {number} bottomStep the step of the bottom line
 * @property {End} low
 * @property {End} high
 * @property {{step: number, sign: number, size: number}} begin
 * @property {number} transpositionCents
 * @property {number} tuningAHz
 */

/** @param {number} value @param {number} low @param {number} high */
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));

/** @param {number} a @param {number} b @returns {number} */
const divisor = (a, b) => (b === 0 ? a : divisor(b, a % b));

/**
 * A size in cents as exact text, without its sign: 50, 12.5 is 25/2.
 * @param {number} units
 */
function exact(units) {
  const size = Math.abs(units);
  const common = divisor(size, UNITS_PER_CENT);
  const [above, below] = [size / common, UNITS_PER_CENT / common];
  return below === 1 ? String(above) : `${above}/${below}`;
}

/** @param {number} units cents to a tenth, with a sign; nothing where it is none */
function signed(units) {
  const cents = Math.round(units / (UNITS_PER_CENT / 10)) / 10;
  return cents === 0 ? "" : `${cents < 0 ? MINUS : "+"}${Math.abs(cents)}`;
}

/** The chosen note; every move gives a new one. */
export class NoteChoice {
  /** @type {View} */
  #view;
  #step;
  #sign;
  #rest;

  /**
   * @param {View} view
   * @param {{step: number, sign: number, rest: number}} [place] the place of a sign among the signs
   */
  constructor(view, place) {
    this.#view = view;
    const { begin, signs } = view;
    const found = signs.findIndex(({ size }) => size === begin.sign);
    const natural = signs.findIndex(({ size }) => size === 0);
    const sign = found < 0 ? natural : found;
    const chosen = place ?? { step: begin.step, sign, rest: begin.size - signs[sign].size };
    this.#step = clamp(chosen.step, LOWEST_STEP, HIGHEST_STEP);
    this.#sign = clamp(chosen.sign, 0, signs.length - 1);
    const size = signs[this.#sign].size;
    const reach = clamp(chosen.rest, -LARGEST_REST, LARGEST_REST);
    this.#rest = clamp(reach, -LARGEST_ALTER - size, LARGEST_ALTER - size);
  }

  get step() {
    return this.#step;
  }

  get sign() {
    return this.#view.signs[this.#sign];
  }

  get octave() {
    return Math.floor(this.#step / STEPS_PER_OCTAVE);
  }

  get #letter() {
    return this.#step % STEPS_PER_OCTAVE;
  }

  get #alter() {
    return this.sign.size + this.#rest;
  }

  /** Written cents, A4 = 6900. */
  get cents() {
    return this.#centsOf(this.#step, this.#alter);
  }

  /** What sounds, in Hz. */
  get hz() {
    const { transpositionCents, tuningAHz } = this.#view;
    return tuningAHz * 2 ** ((this.cents + transpositionCents - A4_CENTS) / 1200);
  }

  /** @param {number} lines up, or down if negative */
  moved(lines) {
    return this.#with({ step: this.#step + lines });
  }

  /** @param {number} step */
  movedTo(step) {
    return this.#with({ step });
  }

  /** The next sign of the system up or down, without cents beside it. @param {number} count */
  resigned(count) {
    return this.#with({ sign: this.#sign + count, rest: 0 });
  }

  /** @param {number} cents */
  nudged(cents) {
    return this.#with({ rest: this.#rest + cents * UNITS_PER_CENT });
  }

  /** The lowest or highest note of the instrument. @param {"low" | "high"} end */
  atEnd(end) {
    return this.#with({ step: this.#view[end].step });
  }

  /** The parts of the name as they are shown. */
  get name() {
    const { letters } = this.#view;
    return {
      letter: letters[this.#letter],
      sign: this.sign.characters,
      octave: String(this.octave),
      rest: signed(this.#rest),
    };
  }

  /** The whole of it in cents from the natural, for small print. */
  get alterWords() {
    const cents = signed(this.#alter);
    return cents ? `${cents} cents from the natural` : "natural";
  }

  get words() {
    const { letter, octave } = this.name;
    const sign = this.sign.words ? ` ${this.sign.words} ` : "";
    return `${letter}${sign}${octave}${this.#restWords}`;
  }

  get #restWords() {
    if (!signed(this.#rest)) return "";
    const size = signed(this.#rest).slice(1);
    return `, ${size} ${size === "1" ? "cent" : "cents"} ${this.#rest > 0 ? "higher" : "lower"}`;
  }

  /** What stands in the text field: it is read as this note in the player's language. */
  get text() {
    return this.#write(this.#view.letters[this.#letter]);
  }

  /** The exact note with its sign, where the text alone does not tell the sign; else nothing. */
  get kept() {
    const { semitones } = this.#ordinary;
    if (this.#rest === 0 || this.sign.size === semitones * SEMITONE) return "";
    const size = this.sign.size;
    return `${this.#write(LETTERS[this.#letter])}~${size < 0 ? "-" : ""}${exact(size)}`;
  }

  /** Where the note lies outside what the instrument has, in words. */
  get beyond() {
    const { low, high } = this.#view;
    if (this.cents < this.#centsOf(low.step, low.size)) return `Below the lowest note, ${low.name}.`;
    if (this.cents > this.#centsOf(high.step, high.size)) return `Above the ordinary range, which ends at ${high.name}.`;
    return "";
  }

  /** The nearest ordinary sign, halfway the one nearer to the natural, and what is left of it. */
  get #ordinary() {
    const alter = this.#alter;
    const count = Math.min(2, Math.ceil(Math.abs(alter) / SEMITONE - 0.5));
    const semitones = alter < 0 ? -count : count;
    return { semitones, rest: alter - semitones * SEMITONE };
  }

  /** @param {string} letter */
  #write(letter) {
    const { semitones, rest } = this.#ordinary;
    const sign = (semitones < 0 ? "b" : "#").repeat(Math.abs(semitones));
    const cents = rest === 0 ? "" : `${rest < 0 ? "-" : "+"}${exact(rest)}c`;
    return `${letter}${sign}${this.octave}${cents}`;
  }

  /** @param {number} step @param {number} units */
  #centsOf(step, units) {
    const octave = Math.floor(step / STEPS_PER_OCTAVE);
    return 1200 * (octave + 1) + NATURAL_CENTS[step % STEPS_PER_OCTAVE] + units / UNITS_PER_CENT;
  }

  /** @param {{step?: number, sign?: number, rest?: number}} change */
  #with({ step = this.#step, sign = this.#sign, rest = this.#rest }) {
    return new NoteChoice(this.#view, { step, sign, rest });
  }
}
