// Whether a row of pitches is a note, what pitch it holds, and how steadily.
//
// A single pitch proves nothing: a click, a chair, a word has one too. After a rest a note counts once
// it has stood for some 0.17 s; from one note to the next two readings that agree are enough.

const CENTS = 1200;
const AGREES_CENTS = 60;
const HELD_S = 0.5;
const NOTE_CENTS = 60;
const MIN_SPREAD_S = 0.3;
const REST_S = 0.25;
const SLURRED = { of: 3, agree: 2 };
const AFTER_REST = { of: 6, agree: 5 };

const between = (oneHz, otherHz) => Math.abs(CENTS * Math.log2(oneHz / otherHz));

/** @param {number[]} values @returns {number} */
export function findMedian(values) {
  const ordered = Float64Array.from(values).sort();
  const middle = ordered.length >> 1;
  return ordered.length % 2 ? ordered[middle] : 0.5 * (ordered[middle - 1] + ordered[middle]);
}

export class Steadiness {
  constructor() {
    this._recent = []; // {timeS, f0Hz}, as they came
    this._note = []; // {timeS, f0Hz}, those of the note that is held now
    this._saidS = -Infinity; // when a pitch was last told
  }

  /**
   * @param {number} timeS
   * @param {number | null} rawHz what the frame alone says
   */
  add(timeS, rawHz) {
    this._recent.push({ timeS, f0Hz: rawHz });
    if (this._recent.length > AFTER_REST.of) this._recent.shift();
    if (rawHz === null || !this._isConfirmed(timeS, rawHz)) {
      return { timeS, f0Hz: null, heldHz: null, spreadCents: null };
    }
    this._saidS = timeS;
    return { timeS, f0Hz: rawHz, ...this._hold(timeS, rawHz) };
  }

  _isConfirmed(timeS, rawHz) {
    const rule = timeS - this._saidS <= REST_S ? SLURRED : AFTER_REST;
    const agreeing = this._recent
      .slice(-rule.of)
      .filter(({ f0Hz }) => f0Hz !== null && between(f0Hz, rawHz) <= AGREES_CENTS);
    return agreeing.length >= rule.agree;
  }

  _hold(timeS, rawHz) {
    this._note = this._note.filter((one) => timeS - one.timeS < HELD_S);
    const isSame = this._note.length && between(findMedian(this._note.map((one) => one.f0Hz)), rawHz) <= NOTE_CENTS;
    if (!isSame) this._note = [];
    this._note.push({ timeS, f0Hz: rawHz });
    const heldHz = findMedian(this._note.map((one) => one.f0Hz));
    if (timeS - this._note[0].timeS < MIN_SPREAD_S) return { heldHz, spreadCents: null };
    return { heldHz, spreadCents: 1.4826 * findMedian(this._note.map((one) => between(one.f0Hz, heldHz))) };
  }
}
