// @ts-check
// Follows moves of a chosen note, and says what each leads to.

import { NoteChoice } from "../../../webapp/static/js/note/note-choice.js";
import { ledgerSteps, stepAt } from "../../../webapp/static/js/note/places.js";

/** @typedef {["moved" | "resigned" | "nudged" | "movedTo", number] | ["atEnd", "low" | "high"]} Move */

/** @param {NoteChoice} choice */
function tell(choice) {
  const { step, cents, hz, text, kept, words, beyond, name, alterWords } = choice;
  return { step, cents, hz, text, kept, words, beyond, name, alterWords, sign: choice.sign.size };
}

/** @param {NoteChoice} choice @param {Move} move @returns {NoteChoice} */
function go(choice, [kind, value]) {
  return kind === "atEnd" ? choice.atEnd(value) : choice[kind](value);
}

/**
 * @param {import("../../../webapp/static/js/note/note-choice.js").View} view
 * @param {Move[]} moves
 */
export function follow(view, moves) {
  let choice = new NoteChoice(view);
  const told = [tell(choice)];
  for (const move of moves) {
    choice = go(choice, move);
    told.push(tell(choice));
  }
  return told;
}

/** @param {number[]} steps @param {number[]} heights */
export function placeOnStaff(steps, heights) {
  return { ledgers: steps.map(ledgerSteps), steps: heights.map(stepAt) };
}
