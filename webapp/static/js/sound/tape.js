// @ts-check
// What the microphone heard last, as long as it may belong to a note, and where sound was lost.

/** @typedef {{chunk: Float32Array, firstFrame: number}} Chunk */

/** Chunks of sound in order, each at its place. */
export class Tape {
  /** @type {Chunk[]} */
  #chunks = [];
  /** @type {number[]} the frames after which sound was lost */
  #gaps = [];
  #zeros = 0;
  #dropoutFrames;
  /** The frame that should come next, or null at the beginning. @type {number | null} */
  nextFrame = null;

  /** @param {number} dropoutFrames a run of exact zeros as long as this is lost sound */
  constructor(dropoutFrames) {
    this.#dropoutFrames = dropoutFrames;
  }

  /** @param {Float32Array} chunk @param {number} firstFrame */
  add(chunk, firstFrame) {
    this.#chunks.push({ chunk, firstFrame });
    this.nextFrame = firstFrame + chunk.length;
    this.#findDropouts(chunk, firstFrame);
  }

  /** Note that what should come next was lost. */
  markGap() {
    if (this.nextFrame !== null) this.#gaps.push(this.nextFrame);
  }

  /**
   * A living microphone gives no run of exact zeros.
   * @param {Float32Array} chunk
   * @param {number} firstFrame
   */
  #findDropouts(chunk, firstFrame) {
    for (let place = 0; place < chunk.length; place += 1) {
      this.#zeros = chunk[place] === 0 ? this.#zeros + 1 : 0;
      if (this.#zeros === this.#dropoutFrames) this.#gaps.push(firstFrame + place + 1 - this.#zeros);
    }
  }

  /** Whether sound was lost between two frames. @param {number} from @param {number} to */
  hasGap(from, to) {
    return this.#gaps.some((frame) => frame > from && frame < to);
  }

  /** Let go of what lies before a frame. @param {number} before */
  forget(before) {
    const isOver = (/** @type {Chunk} */ { chunk, firstFrame }) => firstFrame + chunk.length <= before;
    while (this.#chunks.length && isOver(this.#chunks[0])) this.#chunks.shift();
    if (this.#gaps.length) this.#gaps = this.#gaps.filter((frame) => frame >= before);
  }

  /** The first frame that is still there. @returns {number} */
  get firstFrame() {
    return this.#chunks.length ? this.#chunks[0].firstFrame : this.nextFrame ?? 0;
  }

  /** The sound between two frames. @param {number} first @param {number} end */
  cut(first, end) {
    const samples = new Float32Array(end - first);
    for (const { chunk, firstFrame } of this.#chunks) {
      const from = Math.max(0, first - firstFrame);
      const part = chunk.subarray(from, Math.max(from, end - firstFrame));
      if (part.length) samples.set(part, Math.max(0, firstFrame - first));
    }
    return samples;
  }
}
