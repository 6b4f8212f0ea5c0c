// @ts-check
// One staff with one note, drawn like the server's staves (webapp/drawing/staff.py): the same view box,
// the same places. The instrument's written range stands as a bracket at its right edge.

import { makeSvg, setAttributes } from "../dom.js";
import { heightOf, ledgerSteps, stepAt } from "./places.js";

const VIEW_BOX = { top: -4, width: 126, height: 198 };
const NOTE_X = 60;
const NOTE_WIDTH = 16.88;
const CLEF_X = 5;
const RIGHT = NOTE_X + NOTE_WIDTH + 6;
const LEDGER_REACH = 4;
const SIGN_GAP = 2.5;
const RANGE_X = 112;
const TICK = 6;

/** @typedef {import("./note-choice.js").NoteChoice} NoteChoice */
/** @typedef {import("./note-choice.js").View} View */

/** Draws a note, and tells where a pointer is. */
export class Staff {
  #root;
  #note;
  #bottomStep;
  #head;

  /** @param {HTMLElement} place @param {View} view */
  constructor(place, view) {
    this.#bottomStep = view.bottomStep;
    this.#head = view.head;
    const { top, width, height } = VIEW_BOX;
    const attributes = { viewBox: `0 ${top} ${width} ${height}`, "aria-hidden": "true", focusable: "false" };
    this.#root = makeSvg("svg", attributes, place);
    const lines = makeSvg("g", { stroke: "currentColor", "stroke-width": 1.3 }, this.#root);
    for (let step = 0; step <= 8; step += 2) this.#line(lines, 1, RIGHT, step);
    this.#use(this.#root, view.clef, CLEF_X, heightOf(view.clefStep));
    this.#drawRange(view);
    this.#note = makeSvg("g", {}, this.#root);
  }

  /** @param {NoteChoice} choice */
  draw(choice) {
    const step = choice.step - this.#bottomStep;
    const y = heightOf(step);
    this.#note.replaceChildren();
    const ledgers = makeSvg("g", { stroke: "currentColor", "stroke-width": 1.6 }, this.#note);
    const needed = ledgerSteps(step);
    for (const line of needed) this.#line(ledgers, NOTE_X - LEDGER_REACH, NOTE_X + NOTE_WIDTH + LEDGER_REACH, line);
    this.#use(this.#note, this.#head, NOTE_X, y);
    let edge = NOTE_X - SIGN_GAP - (needed.length ? LEDGER_REACH : 0);
    for (const { id, right } of [...choice.sign.glyphs].reverse()) {
      this.#use(this.#note, id, edge - right, y);
      edge -= right + SIGN_GAP;
    }
  }

  /** The step, counted from C0, under a pointer. @param {PointerEvent} event */
  stepUnder(event) {
    const { top, height } = this.#root.getBoundingClientRect();
    const y = VIEW_BOX.top + ((event.clientY - top) / height) * VIEW_BOX.height;
    return stepAt(y) + this.#bottomStep;
  }

  /** @param {View} view */
  #drawRange({ low, high, bottomStep }) {
    const [from, to] = [heightOf(low.step - bottomStep), heightOf(high.step - bottomStep)];
    const d = `M${RANGE_X - TICK} ${from}H${RANGE_X}V${to}H${RANGE_X - TICK}`;
    makeSvg("path", { d, class: "note-range", fill: "none", stroke: "currentColor", "stroke-width": 1.3 }, this.#root);
  }

  /** @param {Element} parent @param {string} id @param {number} x @param {number} y */
  #use(parent, id, x, y) {
    makeSvg("use", { href: `#${id}`, x, y }, parent);
  }

  /** @param {Element} parent @param {number} from @param {number} to @param {number} step */
  #line(parent, from, to, step) {
    const y = heightOf(step);
    setAttributes(makeSvg("line", { x1: from, y1: y }, parent), { x2: to, y2: y });
  }
}
