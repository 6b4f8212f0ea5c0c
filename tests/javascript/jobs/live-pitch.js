// @ts-check
// The pitch of samples, read as the worker reads it, and the spectrum it is read from.

import { RealFft } from "../../../webapp/static/js/sound/fft.js";
import { PitchTracker } from "../../../webapp/static/js/sound/tracker.js";

/**
 * Readings of the tracker, without a worker and as fast as it goes.
 * @param {Float32Array} samples
 * @param {number} rate
 * @param {{lowHz: number} | null} range
 * @param {number} step samples that come at once, as a microphone would bring them
 */
export function track(samples, rate, range, step) {
  const tracker = new PitchTracker(rate, range ?? undefined);
  const readings = [];
  for (let at = 0; at < samples.length; at += step) {
    const chunk = samples.slice(at, at + step);
    tracker.push(chunk, at);
    const reading = tracker.read();
    if (reading) readings.push({ ...reading, heardS: (at + chunk.length) / rate });
  }
  return readings;
}

/**
 * When readings come, in seconds, where a stretch of the stream is missing.
 * @param {Float32Array} samples
 * @param {number} rate
 * @param {number} fromS
 * @param {number} toS
 */
export function trackAcrossHole(samples, rate, fromS, toS) {
  const tracker = new PitchTracker(rate);
  const step = Math.round(rate / 30);
  const times = [];
  for (let at = 0; at < samples.length; at += step) {
    if (at > fromS * rate && at < toS * rate) continue;
    tracker.push(samples.slice(at, at + step), at);
    if (tracker.read()) times.push(at / rate);
  }
  return times;
}

/** Real and imaginary parts. @param {number[]} samples @param {number} size */
export function transform(samples, size) {
  const fft = new RealFft(size);
  fft.transform(Float64Array.from(samples));
  return [[...fft.re], [...fft.im]];
}
