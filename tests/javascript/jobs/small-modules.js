// @ts-check
// Modules that do one thing, asked for it.

import { findConflicts, formatFingering, shortenChanges } from "../../../webapp/static/js/keys-words.js";
import { inWords } from "../../../webapp/static/js/said.js";
import { matchLevels, measureLoudness } from "../../../webapp/static/js/sound/loudness.js";
import { WatchedTime } from "../../../webapp/static/js/sound/watched.js";
import { encodeWav } from "../../../webapp/static/js/sound/wav.js";
import { makeNamer } from "../../../webapp/static/js/sound/written-names.js";
import { Marks } from "../../../webapp/static/js/stand/marks.js";
import { Walk } from "../../../webapp/static/js/stand/walk.js";

/** @typedef {import("../../../webapp/static/js/keys-words.js").Layout} Layout */
/** @typedef {import("../../../webapp/static/js/keys-words.js").State} State */

/** The written names of sounding pitches. @param {Parameters<typeof makeNamer>[0]} options @param {number[]} all in Hz */
export function nameAll(options, all) {
  const name = makeNamer(options);
  return all.map((hz) => inWords(name(hz).pitch));
}

/** A wav file in base64, and the samples that are in it. @param {number} rate @param {number} count */
export async function writeWav(rate, count) {
  const samples = Float32Array.from({ length: count }, (_, at) => Math.sin(at * at) * 1.5);
  const file = Buffer.from(encodeWav(samples, rate));
  return [file.toString("base64"), samples];
}

/** LKFS of sines, each {gain, hz}. @param {{gain: number, hz: number}[]} sines */
export function measureSines(sines) {
  return sines.map(({ gain, hz }) => {
    const wave = (/** @type {unknown} */ _, /** @type {number} */ n) => gain * Math.sin((2 * Math.PI * hz * n) / 48000);
    return measureLoudness(Float32Array.from({ length: 48000 * 5 }, wave));
  });
}

/** How far sounds are turned down, where the last of them is silence. @param {number[]} loudnesses of those before */
export function matchWithSilence(loudnesses) {
  return matchLevels([...loudnesses, measureLoudness(new Float32Array(480))]);
}

/**
 * Whether each step of a walk could be made, and where it led.
 * @param {number[]} counts
 * @param {number} start
 * @param {import("../../../webapp/static/js/stand/walk.js").Step[]} steps
 */
export function walk(counts, start, steps) {
  const walked = new Walk(counts, start);
  return steps.map((step) => [walked.go(step), walked.place.target, walked.place.candidate]);
}

/**
 * Which notes were watched, each [onset, end] in frames, where watching was turned on and off at frames.
 * @param {[number, boolean][]} turns in their order
 * @param {[number, number][]} notes in their order
 */
export function findWatched(turns, notes) {
  const time = new WatchedTime();
  time.begin();
  const left = [...turns];
  return notes.map(([onset, end]) => {
    while (left.length && left[0][0] <= end) {
      const [[frame, isOn]] = left.splice(0, 1);
      time.hear(frame);
      time.watch(isOn);
    }
    time.hear(end);
    return time.covers(onset);
  });
}

/** Text, changes and conflicts of fingerings. @param {Layout} layout @param {State[][]} all */
export function describeFingerings(layout, all) {
  return all.map((states) => {
    const known = new Map(layout.keys.map(({ id }, place) => [id, states[place]]));
    return [
      formatFingering(layout, known),
      shortenChanges(layout, known) || "no change",
      findConflicts(layout, known),
    ];
  });
}

/**
 * The offsets on the display after each step: a target shown, or a take of one marked.
 * @param {(["show", number] | ["add", number, number, number] | ["remove", number, number])[]} steps
 */
export function markTakes(steps) {
  /** @type {number[]} */
  let seen = [];
  const marks = new Marks({ markTakes: (takes) => void (seen = takes.map(({ offsetCents }) => offsetCents)) });
  return steps.map((step) => {
    if (step[0] === "show") marks.show(step[1]);
    else if (step[0] === "remove") marks.remove(step[1], step[2]);
    else marks.add(step[1], step[2], { offsetCents: step[3], uncertaintyCents: null });
    return seen;
  });
}
