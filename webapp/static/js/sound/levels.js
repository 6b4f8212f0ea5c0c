// @ts-check
// How loud it is, hop by hop, and how loud the room is while nobody plays.

const HOP_S = 0.005;
const SMOOTHED_HOPS = 4; // 20 ms: the slowest clarinet wave is not taken for a flicker
const LOW_CUT_HZ = 30; // rumble and offset are no sound of an instrument
const FULL_SCALE = 0.999;
const CLIPPED_RUN = 3;
const FLOOR_HOPS = 200; // 1 s
const FLOOR_LEAST_HOPS = 40;
const FLOOR_SHARE = 0.2;
const FLOOR_UNHEARD_DB = -65;
/** Nothing is quieter than this. */
export const SILENCE_DB = -90;

/** @param {number} power mean square, 1 at full scale */
export function powerToDb(power) {
  return Math.max(SILENCE_DB, 10 * Math.log10(power + 1e-30));
}

/**
 * @typedef {object} Hop 5 ms of sound
 * @property {number} power mean square without what is lower than an instrument
 * @property {number} db
 * @property {number} smoothDb over the last 20 ms
 * @property {number} peak
 * @property {boolean} isClipped
 */

/** Cuts sound into hops of 5 ms and measures each. */
export class HopMeter {
  #fill = 0;
  #power = 0;
  #peak = 0;
  /** @type {number | null} the sample before */
  #last = null;
  #filtered = 0;
  #run = 0;
  #isClipped = false;
  /** @type {number[]} powers of the last hops */
  #recent = [];

  /** @param {number} sampleRate */
  constructor(sampleRate) {
    this.hopFrames = Math.max(1, Math.round(sampleRate * HOP_S));
    this.keep = 1 - (2 * Math.PI * LOW_CUT_HZ) / sampleRate;
  }

  /**
   * Measure more sound.
   * @param {Float32Array} samples
   * @param {(hop: Hop, end: number) => void} onHop `end` is how many of `samples` were used up to the
   *   end of the hop
   */
  push(samples, onHop) {
    for (let place = 0; place < samples.length; place += 1) {
      this.#measure(samples[place]);
      if (this.#fill === this.hopFrames) onHop(this.#finish(), place + 1);
    }
  }

  /** @param {number} sample */
  #measure(sample) {
    this.#filtered = this.keep * this.#filtered + sample - (this.#last ?? sample);
    this.#last = sample;
    this.#power += this.#filtered * this.#filtered;
    const size = Math.abs(sample);
    if (size > this.#peak) this.#peak = size;
    this.#run = size >= FULL_SCALE ? this.#run + 1 : 0;
    if (this.#run >= CLIPPED_RUN) this.#isClipped = true;
    this.#fill += 1;
  }

  #finish() {
    const power = this.#power / this.#fill;
    this.#recent.push(power);
    if (this.#recent.length > SMOOTHED_HOPS) this.#recent.shift();
    const smooth = this.#recent.reduce((sum, each) => sum + each, 0) / this.#recent.length;
    const hop = {
      power,
      db: powerToDb(power),
      smoothDb: powerToDb(smooth),
      peak: this.#peak,
      isClipped: this.#isClipped,
    };
    this.#fill = 0;
    this.#power = 0;
    this.#peak = 0;
    this.#isClipped = false;
    return hop;
  }
}

/** The level of the room: what the quietest fifth of the last second stays below. */
export class NoiseFloor {
  /** @type {number[]} */
  #levels = [];
  #next = 0;
  #heard = 0;
  #isStale = true;
  #db = Infinity;

  /**
   * Hear a hop in which nobody plays, as far as is known.
   * @param {Hop} hop exact silence is a microphone that is off, or
   *   not yet on, and says nothing about the room
   */
  add({ power, smoothDb }) {
    this.#heard += 1;
    this.#isStale = true;
    if (power === 0) return;
    this.#levels[this.#next] = smoothDb;
    this.#next = (this.#next + 1) % FLOOR_HOPS;
  }

  /** Forget what was thought: the room is as loud as this now. @param {number} db */
  startAt(db) {
    this.#levels = new Array(FLOOR_LEAST_HOPS).fill(db);
    this.#next = FLOOR_LEAST_HOPS;
    this.#isStale = true;
  }

  /** Infinite until enough was heard. */
  get db() {
    if (this.#isStale) this.#db = this.#judge();
    this.#isStale = false;
    return this.#db;
  }

  #judge() {
    if (this.#heard < FLOOR_LEAST_HOPS) return Infinity;
    if (this.#levels.length < FLOOR_LEAST_HOPS) return FLOOR_UNHEARD_DB;
    const sorted = Float64Array.from(this.#levels).sort();
    return sorted[Math.floor(sorted.length * FLOOR_SHARE)];
  }
}
