// @ts-check
// What the live display says: numbers with a true minus sign, and the words beside them.

import { inWords } from "../said.js";

/** @typedef {import("../said.js").Said} Said */

const MINUS = "−";
/** Said before another note than the one that is asked for. */
export const YOU_PLAY = "you play";
/** What sounds further from the target than this is another note: it has a name and no number. */
export const OTHER_NOTE_CENTS = 100;
// Half of the notes that clarinettists hold scatter by some 1 cent, nine in ten by under 3.
/** @type {[number, string][]} */
const STEADY = [[1, "very steady"], [2.5, "steady"], [6, "moving a little"], [Infinity, "moving"]];

/**
 * @param {number} cents
 * @param {number} [decimals]
 * @returns {string} signed; what rounds to zero has no sign
 */
export function formatCents(cents, decimals = 0) {
  const digits = Math.abs(cents).toFixed(decimals);
  if (Number(digits) === 0) return digits;
  return `${cents < 0 ? MINUS : "+"}${digits}`;
}

/**
 * @param {number} cents
 * @param {number} [decimals] the number is shown with
 * @returns {"flat" | "sharp" | "on target"}
 */
export function nameSide(cents, decimals = 0) {
  if (Number(Math.abs(cents).toFixed(decimals)) === 0) return "on target";
  return cents < 0 ? "flat" : "sharp";
}

/** @param {number} spreadCents @returns {string} */
export function nameSteadiness(spreadCents) {
  const [, words] = STEADY.find(([limit]) => spreadCents < limit) ?? STEADY[STEADY.length - 1];
  return words;
}

/** @param {number} spreadCents @returns {string} */
export function describeSteadiness(spreadCents) {
  return `${nameSteadiness(spreadCents)}, ${describeSpread(spreadCents)}`;
}

/** @param {number} spreadCents */
export function describeSpread(spreadCents) {
  return `spread ${spreadCents.toFixed(1)} cents`;
}

/**
 * All of the display in one sentence or two.
 * @param {import("./pitch-panel.js").Shown} shown
 * @returns {string}
 */
export function describe({ cents, label, isNow, isHidden, isWithin, other, spreadCents, name, decimals }) {
  if (isHidden) return "Measuring. What it sounds as is told when the note ends.";
  if (other !== null) return describeOther(isNow, other, label, name);
  const target = inWords(label);
  if (cents === null) return `Nothing has sounded yet.${target ? ` The target is ${target}.` : ""}`;
  const side = nameSide(cents, decimals);
  const size = Math.abs(cents).toFixed(decimals);
  const place = side === "on target" ? "on" : `${size} ${size === "1" ? "cent" : "cents"} ${side} of`;
  const words = [`${isNow ? "Now" : "Last held"}: ${place} ${target || "the target"}`];
  if (isWithin) words.push("in tune");
  if (spreadCents !== null) words.push(describeSteadiness(spreadCents));
  return `${words.join(", ")}.${name === null ? "" : ` It sounds as ${inWords(name)}.`}`;
}

/** @param {boolean} isNow @param {Said} other @param {Said} label @param {Said | null} name */
function describeOther(isNow, other, label, name) {
  const [note, target, pitch] = [inWords(other), inWords(label), inWords(name ?? other)];
  const place = target ? `, not ${target}` : "";
  const exactly = pitch === note ? "" : ` It sounds as ${pitch}.`;
  return `${isNow ? "Now" : "Last held"}: ${YOU_PLAY} ${note}${place}.${exactly}`;
}
