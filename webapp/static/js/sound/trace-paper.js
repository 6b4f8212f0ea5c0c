// The strip that the trace is written on: its time runs while something sounds and stops in a rest,
// so that the last trace stays where it is until the next note.

const LONGEST_STEP_S = 0.25;
const STOPS_AFTER_S = 0.4;

export class TracePaper {
  /** @param {number} lengthS how much of it is shown */
  constructor(lengthS) {
    this.lengthS = lengthS;
    this.clear();
  }

  clear() {
    /** Where the pen is, in seconds of the strip. */
    this.nowS = 0;
    /** @type {{atS: number, hz: number}[][]} unbroken stretches, the oldest first */
    this.runs = [];
    this._lastS = null;
    this._silentS = Infinity; // before the first note nothing runs
  }

  /** The newest point, or null. */
  get newest() {
    return this.runs.at(-1)?.at(-1) ?? null;
  }

  /** How long nothing has sounded, in seconds. */
  get silentS() {
    return this._silentS;
  }

  /** @param {number} timeS @param {number | null} hz */
  add(timeS, hz) {
    const sinceS = this._lastS === null ? 0 : timeS - this._lastS;
    const isUnbroken = sinceS >= 0 && sinceS <= LONGEST_STEP_S;
    const stepS = isUnbroken ? sinceS : 0;
    this._lastS = timeS;
    if (hz === null) {
      if (this._silentS < STOPS_AFTER_S) this.nowS += stepS;
      this._silentS += stepS;
      return;
    }
    this.nowS += this._silentS < STOPS_AFTER_S ? stepS : 0;
    if (this._silentS > 0 || !isUnbroken || !this.runs.length) this.runs.push([]);
    this._silentS = 0;
    this.runs.at(-1).push({ atS: this.nowS, hz });
    this._forget();
  }

  _forget() {
    const firstS = this.nowS - this.lengthS;
    while (this.runs.length && this.runs[0].at(-1).atS < firstS) this.runs.shift();
    const oldest = this.runs[0];
    while (oldest.length > 1 && oldest[1].atS < firstS) oldest.shift();
  }
}
