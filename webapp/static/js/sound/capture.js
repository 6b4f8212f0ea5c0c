// @ts-check
// Runs in the audio thread: hands the microphone's first channel to the page, every frame once.
// A chunk says which frame it begins with, so whoever listens can see that nothing is missing.

const CHUNK_FRAMES = 512; // about 11 ms: an answer soon after the note, and few messages

class Capture extends AudioWorkletProcessor {
  #samples = new Float32Array(CHUNK_FRAMES);
  #count = 0;
  #firstFrame = 0;
  #isOpen = true;

  constructor() {
    super();
    this.port.onmessage = () => {
      this.#isOpen = false;
    };
  }

  /**
   * @param {Float32Array[][]} inputs
   * @returns {boolean} whether it goes on
   */
  process(inputs) {
    /** @type {Float32Array | undefined} */
    const channel = inputs[0][0];
    if (channel === undefined) this.#send(); // no sound for now: those frames stay missing
    else this.#take(channel);
    return this.#isOpen;
  }

  /** @param {Float32Array} channel */
  #take(channel) {
    if (currentFrame !== this.#firstFrame + this.#count) this.#send();
    let taken = 0;
    while (taken < channel.length) {
      if (this.#count === 0) this.#firstFrame = currentFrame + taken;
      const part = channel.subarray(taken, taken + CHUNK_FRAMES - this.#count);
      this.#samples.set(part, this.#count);
      this.#count += part.length;
      taken += part.length;
      if (this.#count === CHUNK_FRAMES) this.#send();
    }
  }

  #send() {
    if (this.#count === 0) return;
    const samples = this.#samples.slice(0, this.#count);
    this.port.postMessage({ samples, firstFrame: this.#firstFrame }, [samples.buffer]);
    this.#count = 0;
  }
}

registerProcessor("capture", Capture);
