// @ts-check
// Pitch is found here, beside the page: each stream of samples comes through a port of its own.
//
// Samples that wait are all taken in before a frame is looked at, so a worker that was kept from its
// work skips readings and never tells of the past.

import { PitchTracker } from "./tracker.js";

/** @typedef {{sampleRate: number, range?: Partial<import("./lines.js").Range>}} Stream */
/** @typedef {{chunk: Float32Array, firstFrame: number}} Batch */

addEventListener("message", ({ data, ports: [port] }) => serve(port, data));

/** @param {MessagePort} port @param {Stream} stream */
function serve(port, { sampleRate, range }) {
  const tracker = new PitchTracker(sampleRate, range);
  const later = new MessageChannel();
  let isAsked = false;

  port.onmessage = (/** @type {MessageEvent<Batch | "close">} */ { data }) => {
    if (data === "close") {
      port.close();
      later.port1.close();
      return;
    }
    tracker.push(data.chunk, data.firstFrame);
    if (isAsked) return;
    isAsked = true;
    later.port1.postMessage(null);
  };
  later.port2.onmessage = () => {
    isAsked = false;
    const begunMs = performance.now();
    const reading = tracker.read();
    port.postMessage(reading && { ...reading, tookMs: performance.now() - begunMs });
  };
}
