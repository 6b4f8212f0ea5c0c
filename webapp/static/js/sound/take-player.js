// @ts-check
// Held notes of takes, to be heard one after the other at the same loudness: only the steady part of
// each, begun and ended softly, repeated as long as it is wanted.

import { LOUDNESS_RATE_HZ, matchLevels, measureLoudness } from "./loudness.js";

const FADE_S = 0.03;
const LONGEST_S = 4;
const PAUSE_S = 0.15;

/** @typedef {{url: string, fromS: number, toS: number}} SteadyPart of a clip */
/** @typedef {{buffer: AudioBuffer, loudness: number}} Loaded */

/** Fetches clips and keeps their steady parts, ready to sound. */
export class TakePlayer {
  #context;
  /** @type {Map<string, Promise<Loaded>>} */
  #kept = new Map();
  /** @type {{source: AudioBufferSourceNode, gain: GainNode}[]} */
  #sounding = [];
  #timer = 0;

  /** @param {AudioContext} context */
  constructor(context) {
    this.#context = context;
  }

  /**
   * Fetch and measure a clip's steady part, once.
   * @param {SteadyPart} part
   * @returns {Promise<Loaded>}
   */
  load(part) {
    const kept = this.#kept.get(part.url);
    if (kept) return kept;
    const loading = this.#fetch(part);
    loading.catch(() => this.#kept.delete(part.url));
    this.#kept.set(part.url, loading);
    return loading;
  }

  /** @param {SteadyPart} part @returns {Promise<Loaded>} */
  async #fetch({ url, fromS, toS }) {
    const answer = await fetch(url);
    if (!answer.ok) throw new Error("This recording cannot be fetched. Is the notebook still running?");
    const decoder = new OfflineAudioContext(1, 1, LOUDNESS_RATE_HZ);
    const whole = await decoder.decodeAudioData(await answer.arrayBuffer());
    const first = Math.round(fromS * LOUDNESS_RATE_HZ);
    const last = Math.min(whole.length, Math.round(Math.min(toS, fromS + LONGEST_S) * LOUDNESS_RATE_HZ));
    const samples = whole.getChannelData(0).slice(first, Math.max(first + 1, last));
    const buffer = this.#context.createBuffer(1, samples.length, LOUDNESS_RATE_HZ);
    buffer.copyToChannel(samples, 0);
    return { buffer, loudness: measureLoudness(samples) };
  }

  /**
   * Play takes one after the other, again and again until `stop`.
   * @param {SteadyPart[]} takes
   * @param {(index: number) => void} [onTurn] told which one begins
   * @returns {Promise<number[]>} how far each is turned down, in dB
   */
  async play(takes, onTurn) {
    this.stop();
    const mark = (this.#timer += 1);
    const loaded = await Promise.all(takes.map((each) => this.load(each)));
    const gains = matchLevels(loaded.map((each) => each.loudness));
    if (mark !== this.#timer) return gains; // stopped while it was loading
    await this.#context.resume();
    const turn = (/** @type {number} */ index) => {
      if (mark !== this.#timer) return;
      const which = index % loaded.length;
      const source = this.#sound(loaded[which].buffer, 10 ** (gains[which] / 20));
      source.onended = () => setTimeout(() => turn(index + 1), PAUSE_S * 1000);
      onTurn?.(which);
    };
    turn(0);
    return gains;
  }

  /** @param {AudioBuffer} buffer @param {number} level */
  #sound(buffer, level) {
    const now = this.#context.currentTime;
    const end = now + buffer.duration;
    const gain = this.#context.createGain();
    gain.gain.setValueAtTime(0, now);
    gain.gain.linearRampToValueAtTime(level, now + Math.min(FADE_S, buffer.duration / 2));
    gain.gain.setValueAtTime(level, Math.max(now + FADE_S, end - FADE_S));
    gain.gain.linearRampToValueAtTime(0, end);
    gain.connect(this.#context.destination);
    const source = this.#context.createBufferSource();
    source.buffer = buffer;
    source.connect(gain);
    source.start(now);
    this.#sounding = [{ source, gain }];
    return source;
  }

  /** Be silent. */
  stop() {
    this.#timer += 1;
    for (const { source, gain } of this.#sounding) {
      source.onended = null;
      gain.gain.cancelScheduledValues(0);
      gain.gain.setTargetAtTime(0, this.#context.currentTime, FADE_S / 4);
      source.stop(this.#context.currentTime + FADE_S);
    }
    this.#sounding = [];
  }
}
