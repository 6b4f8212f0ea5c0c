// @ts-check
// A note while it is being heard: how loud, since when, until when.

import { powerToDb } from "./levels.js";

/** One note from its first hop on. */
export class HeardNote {
  #set;
  /** @type {number[]} dB of each hop */
  #levels = [];
  #loudHops = 0;
  /** @type {number[]} of the last hops */
  #powers = [];
  #levelDb = -Infinity;
  #peak = 0;
  isClipped = false;
  /** How many hops in a row it was not heard. */
  quietHops = 0;

  /**
   * @param {number} onset its first frame
   * @param {{endBelowNoteDb: number, noteLevelHops: number, hopFrames: number}} set
   */
  constructor(onset, set) {
    this.#set = set;
    this.onset = onset;
    this.end = onset;
  }

  /**
   * Hear a hop more.
   * @param {import("./levels.js").Hop} hop
   * @param {number} endFrame
   * @param {number} noiseDb what is below this belongs to the room
   */
  hear(hop, endFrame, noiseDb) {
    const endDb = Math.max(noiseDb, this.#faintDb);
    const isLoud = hop.smoothDb >= endDb;
    if (hop.db >= endDb) this.end = endFrame;
    this.#levels.push(hop.smoothDb);
    if (isLoud) this.#loudHops += 1;
    this.quietHops = isLoud ? 0 : this.quietHops + 1;
    this.#peak = Math.max(this.#peak, hop.peak);
    this.isClipped ||= hop.isClipped;
    this.#followLevel(hop.power);
  }

  /** The level of a note is the loudest that it holds for 0.1 s: a key's click does not set it. @param {number} power */
  #followLevel(power) {
    this.#powers.push(power);
    if (this.#powers.length > this.#set.noteLevelHops) this.#powers.shift();
    if (this.#powers.length < this.#set.noteLevelHops) return;
    const mean = this.#powers.reduce((sum, each) => sum + each, 0) / this.#powers.length;
    this.#levelDb = Math.max(this.#levelDb, powerToDb(mean));
  }

  get #faintDb() {
    return this.#levelDb - this.#set.endBelowNoteDb;
  }

  get hops() {
    return this.#levels.length;
  }

  get loudShare() {
    return this.#loudHops / this.#levels.length;
  }

  get peakDb() {
    return powerToDb(this.#peak ** 2);
  }

  /** The level of its last hops, which is the room's once it is over. @param {number} hops */
  levelOfLast(hops) {
    const last = this.#levels.slice(-hops).sort((a, b) => a - b);
    return last[Math.floor(last.length / 2)];
  }

  /** A louder room may have begun it: let it begin where it stands near its own level. */
  trimBeginning() {
    const faint = this.#levels.findIndex((db) => db >= this.#faintDb);
    this.onset += this.#set.hopFrames * Math.max(0, faint);
  }
}
