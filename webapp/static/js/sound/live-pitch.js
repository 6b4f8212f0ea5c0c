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
  /**
   * @param {number} sampleRate
   * @param {{lowHz?: number, highHz?: number}} [range] the sounding notes that are expected
   */
  constructor(sampleRate, range) {
    /** @type {(reading: import("./tracker.js").Reading) => void} */
    this.onReading = () => {};
    const channel = new MessageChannel();
    this._port = channel.port1;
    this._batch = new Float32Array(Math.round(sampleRate / BATCHES_A_SECOND));
    this._filled = 0;
    this._firstFrame = 0;
    this._underWay = 0;
    this._port.onmessage = ({ data }) => {
      this._underWay = 0;
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
    if (!this._port) return;
    if (firstFrame !== this._firstFrame + this._filled) [this._filled, this._firstFrame] = [0, firstFrame];
    for (let at = 0; at < chunk.length; ) {
      const part = chunk.subarray(at, at + this._batch.length - this._filled);
      this._batch.set(part, this._filled);
      this._filled += part.length;
      at += part.length;
      if (this._filled === this._batch.length) this._send();
    }
  }

  _send() {
    const [chunk, firstFrame] = [this._batch, this._firstFrame];
    this._batch = new Float32Array(chunk.length);
    this._firstFrame += chunk.length;
    this._filled = 0;
    if (this._underWay >= MOST_UNDER_WAY) return; // the worker has no time: rather a hole than a queue
    this._underWay += 1;
    this._port.postMessage({ chunk, firstFrame }, [chunk.buffer]);
  }

  /** Stop; no reading comes after this. */
  close() {
    if (!this._port) return;
    this._port.onmessage = null;
    this._port.postMessage("close");
    this._port.close();
    this._port = null;
  }
}
