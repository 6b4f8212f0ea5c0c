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

const toCents = (hz) => CENTS * Math.log2(hz);

/** @param {number[]} values @returns {number} */
function findMedian(values) {
  const ordered = Float64Array.from(values).sort();
  const middle = ordered.length >> 1;
  return ordered.length % 2 ? ordered[middle] : 0.5 * (ordered[middle - 1] + ordered[middle]);
}

export class Steadiness {
  constructor() {
    this._recent = []; // cents of the newest frames, null where there was no pitch
    this._note = []; // {timeS, cents}: what of the note was told within the last half second
    this._past = []; // {timeS, isTold}: readings with a pitch within the last two seconds
  }

  /**
   * @param {number} timeS
   * @param {number | null} rawHz what the frame alone says
   * @returns {{timeS: number, f0Hz: number | null, heldHz: number | null, spreadCents: number | null}}
   */
  add(timeS, rawHz) {
    const cents = rawHz === null ? null : toCents(rawHz);
    const since = (spanS) => (one) => timeS - one.timeS < spanS && timeS >= one.timeS;
    this._recent = [...this._recent, cents].slice(-BEGINS_IN_TALK_AFTER);
    this._note = this._note.filter(since(HELD_S));
    this._past = this._past.filter(since(TALK_S));
    const isTold = cents !== null && (this._goesOn(timeS, cents) || this._begins(timeS));
    if (cents !== null) this._past.push({ timeS, isTold });
    if (!isTold) return { timeS, f0Hz: null, heldHz: null, spreadCents: null };
    return { timeS, f0Hz: rawHz, ...this._hold(timeS, cents) };
  }

  /** Whether a note was told a moment ago. */
  _sounds(timeS) {
    const last = this._note.at(-1);
    return last !== undefined && timeS - last.timeS <= LETS_GO_S;
  }

  _goesOn(timeS, cents) {
    return this._sounds(timeS) && Math.abs(this._middle - cents) <= GOES_ON_CENTS;
  }

  _begins(timeS) {
    const told = this._past.filter((one) => one.isTold).length;
    const sliding = this._past.length - told;
    if (sliding >= MIN_SLIDING && sliding > told) return this._isStill(BEGINS_IN_TALK_AFTER);
    return this._isStill(this._sounds(timeS) ? BEGINS_IN_SLUR_AFTER : BEGINS_AFTER);
  }

  _isStill(count) {
    const newest = this._recent.slice(-count);
    if (newest.length < count || newest.includes(null)) return false;
    return Math.max(...newest) - Math.min(...newest) <= STILL_CENTS;
  }

  get _middle() {
    return findMedian(this._note.map((one) => one.cents));
  }

  _hold(timeS, cents) {
    const isSame = this._sounds(timeS) && Math.abs(this._middle - cents) <= NOTE_CENTS;
    if (!isSame && this._isStill(BEGINS_IN_SLUR_AFTER)) this._note = [];
    this._note.push({ timeS, cents });
    const middle = this._middle;
    const heldHz = 2 ** (middle / CENTS);
    if (timeS - this._note[0].timeS < MIN_SPREAD_S) return { heldHz, spreadCents: null };
    const spreadCents = 1.4826 * findMedian(this._note.map((one) => Math.abs(one.cents - middle)));
    return { heldHz, spreadCents };
  }
}
