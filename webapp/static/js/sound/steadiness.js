// @ts-check
// Whether a row of pitches is a note, what pitch it holds, and how steadily.
//
// A single pitch proves nothing: a click, a chair, a word has one too. A note begins once the pitch has
// stood still over four readings (0.13 s; three where it follows another note), and goes on as long as
// it stays near. Talk slides by semitones within a syllable (common knowledge, from memory), so hardly
// any of it stands still for so long; and where most of the last two seconds slid, a note has to stand
// for twice that time.

const CENTS = 1200;
const BEGINS_AFTER = 4;
const BEGINS_IN_SLUR_AFTER = 3;
const BEGINS_IN_TALK_AFTER = 8;
const TALK_S = 2;
const MIN_SLIDING = 9; // readings
const STILL_CENTS = 50;
const GOES_ON_CENTS = 90; // a wide vibrato is still one note
const LETS_GO_S = 0.2;
const HELD_S = 0.5;
const NOTE_CENTS = 60;
const MIN_SPREAD_S = 0.3;

/** @param {number} hz */
const toCents = (hz) => CENTS * Math.log2(hz);

/** @param {number[]} values @returns {number} */
function findMedian(values) {
  const ordered = Float64Array.from(values).sort();
  const middle = ordered.length >> 1;
  return ordered.length % 2 ? ordered[middle] : 0.5 * (ordered[middle - 1] + ordered[middle]);
}

export class Steadiness {
  /** @type {(number | null)[]} cents of the newest frames, null where there was no pitch */
  #recent = [];
  /** @type {{timeS: number, cents: number}[]} what of the note was told within the last half second */
  #note = [];
  /** @type {{timeS: number, isTold: boolean}[]} readings with a pitch within the last two seconds */
  #past = [];

  /**
   * @param {number} timeS
   * @param {number | null} rawHz what the frame alone says
   * @returns {{timeS: number, f0Hz: number | null, heldHz: number | null, spreadCents: number | null}}
   */
  add(timeS, rawHz) {
    const cents = rawHz === null ? null : toCents(rawHz);
    const since = (/** @type {number} */ spanS) => (/** @type {{timeS: number}} */ one) =>
      timeS - one.timeS < spanS && timeS >= one.timeS;
    this.#recent = [...this.#recent, cents].slice(-BEGINS_IN_TALK_AFTER);
    this.#note = this.#note.filter(since(HELD_S));
    this.#past = this.#past.filter(since(TALK_S));
    const isTold = cents !== null && (this.#goesOn(timeS, cents) || this.#begins(timeS));
    if (cents !== null) this.#past.push({ timeS, isTold });
    if (cents === null || !isTold) return { timeS, f0Hz: null, heldHz: null, spreadCents: null };
    return { timeS, f0Hz: rawHz, ...this.#hold(timeS, cents) };
  }

  /** Whether a note was told a moment ago. @param {number} timeS */
  #sounds(timeS) {
    const last = this.#note.at(-1);
    return last !== undefined && timeS - last.timeS <= LETS_GO_S;
  }

  /** @param {number} timeS @param {number} cents */
  #goesOn(timeS, cents) {
    return this.#sounds(timeS) && Math.abs(this.#middle - cents) <= GOES_ON_CENTS;
  }

  /** @param {number} timeS */
  #begins(timeS) {
    const told = this.#past.filter((one) => one.isTold).length;
    const sliding = this.#past.length - told;
    if (sliding >= MIN_SLIDING && sliding > told) return this.#isStill(BEGINS_IN_TALK_AFTER);
    return this.#isStill(this.#sounds(timeS) ? BEGINS_IN_SLUR_AFTER : BEGINS_AFTER);
  }

  /** @param {number} count */
  #isStill(count) {
    const newest = this.#recent.slice(-count).filter((cents) => cents !== null);
    if (newest.length < count) return false;
    return Math.max(...newest) - Math.min(...newest) <= STILL_CENTS;
  }

  /** @returns {number} */
  get #middle() {
    return findMedian(this.#note.map((one) => one.cents));
  }

  /** @param {number} timeS @param {number} cents */
  #hold(timeS, cents) {
    const isSame = this.#sounds(timeS) && Math.abs(this.#middle - cents) <= NOTE_CENTS;
    if (!isSame && this.#isStill(BEGINS_IN_SLUR_AFTER)) this.#note = [];
    this.#note.push({ timeS, cents });
    const middle = this.#middle;
    const heldHz = 2 ** (middle / CENTS);
    if (timeS - this.#note[0].timeS < MIN_SPREAD_S) return { heldHz, spreadCents: null };
    const spreadCents = 1.4826 * findMedian(this.#note.map((one) => Math.abs(one.cents - middle)));
    return { heldHz, spreadCents };
  }
}
