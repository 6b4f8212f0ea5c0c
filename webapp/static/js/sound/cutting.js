// @ts-check
// Cuts notes out of what the microphone hears: a note begins with sound and ends with silence.
// Pure: it knows neither the page nor the audio system.
//
// A note begins when it stands 9 dB out of the room's noise, and keeps 150 ms from before that. It
// is over when nothing was heard of it for 80 ms: 6 dB above the noise, or 30 dB below the note
// itself, which a room's echo falls through sooner. Where a slur is asked for, which may break for a
// moment between registers, it is over after a longer silence (`endAfter`). So a shorter gap, such as a tongued repeat,
// stays within one take. What is shorter than 300 ms is a key or a foot, and is let go. A note of
// 30 s is cut, and the next begins after a silence. What holds no tone is noise and no note: after 3 s
// of it the room is taken to be as loud as that. These figures are ours, set on made sounds.

import { HeardNote } from "./heard-note.js";
import { HopMeter, NoiseFloor, powerToDb, SILENCE_DB } from "./levels.js";
import { Tape } from "./tape.js";

const OPTIONS = {
  beginAboveNoiseDb: 9,
  endAboveNoiseDb: 6,
  endBelowNoteDb: 30,
  settleS: 0.3,
  quietS: 0.08,
  confirmS: 0.1,
  confirmShare: 0.8,
  beforeS: 0.15,
  afterS: 0.08,
  leastS: 0.3,
  mostS: 30,
  toneWithinS: 3,
  noiseLevelS: 1,
  levelS: 0.05,
  noteLevelS: 0.1,
  longestGapS: 0.5,
  dropoutS: 0.004,
};

/**
 * @typedef {object} Note
 * @property {Float32Array} samples with a little silence before and after
 * @property {number} firstFrame of `samples`
 * @property {number} lastFrame of `samples`
 * @property {number} onsetFrame where it was first heard
 * @property {number} endFrame where it was last heard
 * @property {number} peakDb
 * @property {boolean} isClipped
 * @property {boolean} hasGap frames of it were lost
 * @property {boolean} isCutOff it was longer than a take may be
 */

/** @typedef {{rmsDb: number, peakDb: number, isClipped: boolean, floorDb: number}} Level */

/**
 * @typedef {object} Listeners
 * @property {(frame: number) => void} [onBegin]
 * @property {(note: Note) => void} [onEnd]
 * @property {() => void} [onDrop] what had begun was too short to be a note
 * @property {() => void} [onNoise] it holds no tone, as `containsTone` says
 * @property {(samples: Float32Array) => boolean} [containsTone]
 * @property {(level: Level) => void} [onLevel]
 */

/** Cuts notes. */
export class NoteCutter {
  #on;
  #set;
  #meter;
  #floor = new NoiseFloor();
  /** @type {"idle" | "waiting" | "tentative" | "sounding" | "over"} over: silence comes first */
  #state = "idle";
  #tape;
  #hopFrame = 0; // where the hop ended that was measured last
  #hops = 0; // since the sound began
  #quietHops = 0;
  #endHops = 0; // quiet ones that end the note that sounds
  /** @type {HeardNote | null} */
  #note = null;
  #isTone = false; // known of the note that sounds
  #freeFrom = -Infinity; // the note before ends here
  #meanwhile = { power: 0, peak: 0, isClipped: false, hops: 0 };

  /**
   * @param {number} sampleRate
   * @param {Listeners} on
   * @param {Partial<typeof OPTIONS>} [options]
   */
  constructor(sampleRate, on, options = {}) {
    this.#on = on;
    this.#meter = new HopMeter(sampleRate);
    const set = { ...OPTIONS, ...options };
    const frames = (/** @type {number} */ seconds) => Math.round(seconds * sampleRate);
    const hops = (/** @type {number} */ seconds) =>
      Math.max(1, Math.round((seconds * sampleRate) / this.#meter.hopFrames));
    this.#tape = new Tape(frames(set.dropoutS));
    this.#set = {
      ...set,
      sampleRate,
      hopFrames: this.#meter.hopFrames,
      before: frames(set.beforeS),
      after: frames(set.afterS),
      least: frames(set.leastS),
      most: frames(set.mostS),
      longestGap: frames(set.longestGapS),
      toneWithin: frames(set.toneWithinS),
      noiseLevelHops: hops(set.noiseLevelS),
      settleHops: hops(set.settleS),
      quietHops: hops(set.quietS),
      confirmHops: hops(set.confirmS),
      levelHops: hops(set.levelS),
      noteLevelHops: hops(set.noteLevelS),
    };
    this.endAfter();
  }

  /** Cut notes from now on; one that sounds already is not taken. */
  arm() {
    if (this.#state === "idle") {
      this.#state = this.#quietHops >= this.#set.quietHops ? "waiting" : "over";
    }
  }

  /**
   * Say how long a silence ends the note that sounds; the usual time where nothing is said.
   * @param {number} [quietS] longer where a slur breaks for a moment and goes on
   */
  endAfter(quietS) {
    const { sampleRate, hopFrames, quietHops } = this.#set;
    this.#endHops = quietS === undefined ? quietHops : Math.round((quietS * sampleRate) / hopFrames);
  }

  /** Cut no more notes; one that sounds is handed over as it is. */
  disarm() {
    if (this.#note) this.#finish(this.#note, false);
    this.#state = "idle";
  }

  /**
   * Hear more sound.
   * @param {Float32Array} chunk
   * @param {number} firstFrame where it lies; frames that never came count as silence
   */
  push(chunk, firstFrame) {
    const nextFrame = this.#tape.nextFrame ?? firstFrame;
    const missing = firstFrame - nextFrame;
    if (missing !== 0) this.#tape.markGap();
    if (missing < 0 || missing > this.#set.longestGap) this.#startAnew();
    else if (missing > 0) this.#hear(new Float32Array(missing), nextFrame);
    this.#hear(chunk, firstFrame);
  }

  /** So much is missing that nothing goes on from here. */
  #startAnew() {
    if (this.#note) {
      this.#finish(this.#note, false);
      this.#state = "over";
    }
    this.#hops = 0;
    this.#tape.forget(Infinity);
    this.#freeFrom = -Infinity;
  }

  /** @param {Float32Array} chunk @param {number} firstFrame */
  #hear(chunk, firstFrame) {
    this.#tape.add(chunk, firstFrame);
    this.#meter.push(chunk, (hop, end) => {
      this.#hopFrame = firstFrame + end;
      this.#tell(hop);
      this.#judge(hop);
    });
    if (!this.#note) this.#tape.forget(this.#hopFrame - this.#set.before - this.#set.hopFrames);
  }

  /** @param {import("./levels.js").Hop} hop */
  #tell(hop) {
    const sum = this.#meanwhile;
    sum.power += hop.power;
    sum.peak = Math.max(sum.peak, hop.peak);
    sum.isClipped ||= hop.isClipped;
    sum.hops += 1;
    if (sum.hops < this.#set.levelHops) return;
    this.#on.onLevel?.({
      rmsDb: powerToDb(sum.power / sum.hops),
      peakDb: powerToDb(sum.peak ** 2),
      isClipped: sum.isClipped,
      floorDb: Math.max(SILENCE_DB, Math.min(this.#floor.db, 0)),
    });
    this.#meanwhile = { power: 0, peak: 0, isClipped: false, hops: 0 };
  }

  /** @param {import("./levels.js").Hop} hop */
  #judge(hop) {
    this.#hops += 1;
    if (this.#hops <= this.#set.settleHops) return; // many microphones fade in
    const floorDb = this.#floor.db;
    const isBegun = hop.smoothDb >= floorDb + this.#set.beginAboveNoiseDb;
    if (this.#state === "waiting" && isBegun) this.#begin();
    if (this.#note) {
      this.#note.hear(hop, this.#hopFrame, floorDb + this.#set.endAboveNoiseDb);
      this.#follow(this.#note);
      return;
    }
    this.#floor.add(hop);
    const isQuiet = hop.smoothDb < floorDb + this.#set.endAboveNoiseDb;
    this.#quietHops = isQuiet ? this.#quietHops + 1 : 0;
    if (this.#state === "over" && this.#quietHops >= this.#set.quietHops) this.#state = "waiting";
  }

  #begin() {
    this.#note = new HeardNote(this.#hopFrame - this.#set.hopFrames, this.#set);
    this.#isTone = false;
    this.#state = "tentative";
    this.#quietHops = 0;
  }

  /** @param {HeardNote} note that sounds */
  #follow(note) {
    if (this.#state === "tentative") this.#confirm(note);
    else if (note.quietHops >= this.#endHops) this.#finish(note, false);
    else if (this.#hopFrame - note.onset >= this.#set.toneWithin && !this.#holdsTone(note)) this.#letNoiseBe(note);
    else if (this.#hopFrame - note.onset >= this.#set.most) this.#finish(note, true);
  }

  /** @param {HeardNote} note */
  #holdsTone({ onset }) {
    const { containsTone = () => true } = this.#on;
    this.#isTone ||= containsTone(this.#tape.cut(Math.max(onset, this.#tape.firstFrame), this.#hopFrame));
    return this.#isTone;
  }

  /** The room has become louder; a note that has just begun in it begins anew. @param {HeardNote} note */
  #letNoiseBe(note) {
    this.#floor.startAt(note.levelOfLast(this.#set.noiseLevelHops));
    this.#note = null;
    this.#state = "waiting";
    this.#on.onNoise?.();
  }

  /** @param {HeardNote} note */
  #confirm(note) {
    if (note.hops < this.#set.confirmHops) return;
    if (note.loudShare < this.#set.confirmShare) {
      this.#note = null;
      this.#state = "waiting";
      return;
    }
    this.#state = "sounding";
    this.#on.onBegin?.(note.onset);
  }

  /** @param {HeardNote} note @param {boolean} isCutOff */
  #finish(note, isCutOff) {
    const wasSounding = this.#state === "sounding";
    if (wasSounding) note.trimBeginning();
    const isShort = note.end - note.onset < this.#set.least;
    const isNoise = wasSounding && !isShort && !this.#holdsTone(note);
    this.#note = null;
    this.#state = isCutOff ? "over" : "waiting";
    if (!wasSounding) return;
    this.#learn(note);
    if (isShort) this.#on.onDrop?.();
    else if (isNoise) this.#on.onNoise?.();
    else this.#on.onEnd?.(this.#cut(note, isCutOff));
  }

  /** The silence after a note is the room, and shows whether it had become louder. @param {HeardNote} note */
  #learn(note) {
    if (note.quietHops < this.#set.quietHops) return;
    const db = note.levelOfLast(this.#set.quietHops);
    if (db > this.#floor.db + this.#set.endAboveNoiseDb) this.#floor.startAt(db);
  }

  /** @param {HeardNote} note @param {boolean} isCutOff @returns {Note} */
  #cut(note, isCutOff) {
    const first = Math.max(note.onset - this.#set.before, this.#freeFrom, this.#tape.firstFrame);
    const end = Math.min(note.end + this.#set.after, this.#hopFrame);
    this.#freeFrom = end;
    return {
      samples: this.#tape.cut(first, end),
      firstFrame: first,
      lastFrame: end - 1,
      onsetFrame: note.onset,
      endFrame: note.end - 1,
      peakDb: note.peakDb,
      isClipped: note.isClipped,
      hasGap: this.#tape.hasGap(note.onset, note.end),
      isCutOff,
    };
  }
}
