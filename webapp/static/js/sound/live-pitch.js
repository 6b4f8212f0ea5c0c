// @ts-check
// The pitch of what sounds now, some thirty times a second, found in a worker.
//
// The worker starts with the page, so that it is there when the server no longer is. One serves all.
//
// How late a reading is: the stretch it was read from (its middle lies 38 to 58 ms back), the chunk it
// waited for (33 ms at most) and the way to the worker and back (some ms). After a rest a note is told
// once it has stood for some 0.2 s; `heldHz` follows it by a quarter of a second.

const BATCHES_A_SECOND = 30;
const MOST_UNDER_WAY = 12; // batches: 0.4 s

const worker = new Worker(new URL("./pitch-worker.js", import.meta.url), { type: "module" });

export class LivePitch {
  /** @type {MessagePort | null} null once it is closed */
  #port;
  #batch;
  #filled = 0;
  #firstFrame = 0;
  #underWay = 0;

  /**
   * @param {number} sampleRate
   * @param {Partial<import("./lines.js").Range>} [range] the sounding notes that are expected
   */
  constructor(sampleRate, range) {
    /** @type {(reading: import("./tracker.js").Reading) => void} */
    this.onReading = () => {};
    const channel = new MessageChannel();
    this.#port = channel.port1;
    this.#batch = new Float32Array(Math.round(sampleRate / BATCHES_A_SECOND));
    this.#port.onmessage = ({ data }) => {
      this.#underWay = 0;
      if (data !== null) this.onReading(data);
    };
    worker.postMessage({ sampleRate, range }, [channel.port2]);
  }

  /**
   * Hear a stretch of sound; it is copied, so the caller may go on using it.
   * @param {Float32Array} chunk
   * @param {number} firstFrame number of its first sample in the stream
   */
  push(chunk, firstFrame) {
    if (!this.#port) return;
    if (firstFrame !== this.#firstFrame + this.#filled) [this.#filled, this.#firstFrame] = [0, firstFrame];
    for (let at = 0; at < chunk.length; ) {
      const part = chunk.subarray(at, at + this.#batch.length - this.#filled);
      this.#batch.set(part, this.#filled);
      this.#filled += part.length;
      at += part.length;
      if (this.#filled === this.#batch.length) this.#send(this.#port);
    }
  }

  /** @param {MessagePort} port */
  #send(port) {
    const [chunk, firstFrame] = [this.#batch, this.#firstFrame];
    this.#batch = new Float32Array(chunk.length);
    this.#firstFrame += chunk.length;
    this.#filled = 0;
    if (this.#underWay >= MOST_UNDER_WAY) return; // the worker has no time: rather a hole than a queue
    this.#underWay += 1;
    port.postMessage({ chunk, firstFrame }, [chunk.buffer]);
  }

  /** Stop; no reading comes after this. */
  close() {
    if (!this.#port) return;
    this.#port.onmessage = null;
    this.#port.postMessage("close");
    this.#port.close();
    this.#port = null;
  }
}
