// @ts-check
// Places on a page, in mm from its left and its top.

/** @typedef {{x: number, y: number}} Place */

/** How far a finger may tremble before a touch is a drag, in mm of the page. */
const TREMBLE_MM = 1.5;
/** How far above a touched note its drawing stands, in mm: it must not cover the note. */
const LIFT_MM = 3;

/** The place itself, or the nearest on the page. @param {Place} place @param {{width: number, height: number}} size @returns {Place} */
export function clampTo({ x, y }, { width, height }) {
  const within = (/** @type {number} */ value, /** @type {number} */ most) => Math.round(Math.min(Math.max(value, 0), most) * 100) / 100;
  return { x: within(x, width), y: within(y, height) };
}

/** Where the foot of a drawing stands that is put on a note: a little above it. @param {Place} note @returns {Place} */
export function aboveNote({ x, y }) {
  return { x, y: y - LIFT_MM };
}

/** Whether something was dragged, and not only touched. @param {Place} from @param {Place} to */
export function isDragged(from, to) {
  return Math.hypot(to.x - from.x, to.y - from.y) > TREMBLE_MM;
}
