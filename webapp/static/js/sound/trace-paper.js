// @ts-check
// The strip that the trace is written on: its time runs while something sounds and stops in a rest,
// so that the last trace stays where it is until the next note.

const LONGEST_STEP_S = 0.25;
const STOPS_AFTER_S = 0.4;

export class TracePaper {
  /** Where the pen is, in seconds of the strip. */
  nowS = 0;
  /** @type {{atS: number, hz: number}[][]} unbroken stretches, the oldest first */
  runs = [];
  /** @type {number | null} */
  #lastS = null;
  #silentS = Infinity; // before the first note nothing runs

  /** @param {number} lengthS how much of it is shown */
  constructor(lengthS) {
    this.lengthS = lengthS;
  }

  clear() {
    this.nowS = 0;
    this.runs = [];
    this.#lastS = null;
    this.#silentS = Infinity;
  }

  /** The newest point, or null. */
  get newest() {
    return this.runs.at(-1)?.at(-1) ?? null;
  }

  /** How long nothing has sounded, in seconds. */
  get silentS() {
    return this.#silentS;
  }

  /**
   * @param {number} timeS
   * @param {number | null} hz
   * @returns {boolean} whether it has moved: in a rest it stands still
   */
  add(timeS, hz) {
    const sinceS = this.#lastS === null ? 0 : timeS - this.#lastS;
    const isUnbroken = sinceS >= 0 && sinceS <= LONGEST_STEP_S;
    const stepS = isUnbroken ? sinceS : 0;
    this.#lastS = timeS;
    if (hz === null) {
      const isMoving = this.#silentS < STOPS_AFTER_S;
      if (isMoving) this.nowS += stepS;
      this.#silentS += stepS;
      return isMoving;
    }
    this.nowS += this.#silentS < STOPS_AFTER_S ? stepS : 0;
    if (this.#silentS > 0 || !isUnbroken || !this.runs.length) this.runs.push([]);
    this.#silentS = 0;
    this.runs[this.runs.length - 1].push({ atS: this.nowS, hz });
    this.#forget();
    return true;
  }

  #forget() {
    const firstS = this.nowS - this.lengthS;
    const isOver = (/** @type {{atS: number}[]} */ run) => run[run.length - 1].atS < firstS;
    while (this.runs.length && isOver(this.runs[0])) this.runs.shift();
    const oldest = this.runs[0];
    while (oldest.length > 1 && oldest[1].atS < firstS) oldest.shift();
  }
}
