// @ts-check
// The takes of this evening as chips, the newest first: a mark, the figure and a word. A touch on one
// opens what was played, what it was found to be, and what can be done with it.

import { make, makeButton, makeLink, makeSvg } from "../dom.js";
import { writeSaid } from "../notes.js";
import { takeButtons } from "../take-buttons.js";

const NEAR_CENTS = 25;
/** @typedef {"waits" | "counts" | "aside" | "problem"} Mark */

/** @typedef {"take" | "loop"} Kind of what was kept, as the bin names it */

/** @type {Record<Mark, string>} told apart by their shapes, in a box of 12 */
const MARKS = {
  waits: "M6 2.5a3.5 3.5 0 1 0 .01 0z",
  counts: "M6 1a5 5 0 1 0 .01 0z",
  aside: "M2 2l8 8M10 2l-8 8",
  problem: "M6 1v6M6 9.5v1.5",
};

/**
 * @typedef {object} Row of one take
 * @property {HTMLElement} row
 * @property {SVGElement} mark
 * @property {HTMLElement} number
 * @property {HTMLElement} word
 * @property {HTMLElement} doing what can be done with it
 * @property {HTMLElement} figure with its uncertainty
 * @property {HTMLElement} said
 * @property {string} name of the target
 * @property {import("../said.js").Said} words that were told of it
 * @property {boolean} isSettled
 * @property {number | null} refusedId
 */

export class StandTakeList {
  #list;
  #doing;
  /** @type {Map<number, Row>} */
  #rows = new Map();

  /**
   * @param {HTMLElement} list
   * @param {{bin: (take: number, kind: Kind) => Promise<boolean>,
   *   restore: (take: number, kind: Kind) => Promise<boolean>,
   *   outbox: import("../sound/outbox.js").Outbox, say: (words: string) => void,
   *   toleranceCents: number}} doing
   */
  constructor(list, doing) {
    this.#list = list;
    this.#doing = doing;
  }

  /**
   * A note was cut; nothing is known of it yet.
   * @param {number} id
   * @param {{name: string, note: import("../said.js").Said, keys: string, isWatched: boolean}} what target and fingering, and how it was played
   * @param {string} [words]
   */
  add(id, { name, note, keys, isWatched }, words = "being measured…") {
    if (this.#rows.has(id)) return;
    const row = make("li", "stand-take");
    const detail = make("div", "stand-take-detail");
    detail.id = `stand-take-${id}`;
    detail.popover = "auto";
    const chip = makeButton("", () => detail.togglePopover(), "stand-chip");
    const mark = makeSvg("svg", { viewBox: "0 0 12 12", "aria-hidden": "true" }, chip);
    const number = make("span", "stand-take-number");
    const word = make("span", "stand-chip-word", "measuring");
    chip.append(number, " ", word);
    const what = make("p", "stand-take-what");
    const of = make("strong");
    writeSaid(of, note);
    what.append(of, " ", make("span", "muted", keys));
    if (isWatched) what.append(" ", make("span", "take-watched", "watched"));
    const figure = make("p", "stand-take-figure");
    const doing = make("p", "stand-take-doing");
    const said = make("p", "stand-take-words", words);
    detail.append(what, figure, said, doing);
    row.append(chip, detail);
    this.#list.prepend(row);
    this.#rows.set(id, {
      row, mark, number, word, doing, figure, said, name, words: "", isSettled: false, refusedId: null,
    });
    draw(mark, "waits");
  }

  /** Something is said of a take that has no result yet. @param {number} id @param {string} words */
  say(id, words) {
    const kept = this.#rows.get(id);
    if (!kept || kept.isSettled) return;
    kept.said.textContent = words;
    kept.word.textContent = "waits";
  }

  /**
   * The server has measured it, and this is what is told of it.
   * @param {number} id
   * @param {number} take its number there
   * @param {import("../take-results.js").Told} told
   * @param {Kind} kind
   */
  settle(id, take, told, kind) {
    const kept = this.#rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.refusedId = null;
    kept.words = told.words;
    writeSaid(kept.number, typeof told.figure === "string" ? told.figure.split(" ±")[0] : told.figure);
    writeSaid(kept.figure, told.figure);
    writeSaid(kept.said, told.words);
    kept.word.textContent = this.#nameStanding(told);
    draw(kept.mark, told.isAside ? "aside" : "counts");
    kept.row.classList.toggle("is-aside", told.isAside);
    this.#offer(kept, take, kind, told.link);
  }

  /** @param {import("../take-results.js").Told} told */
  #nameStanding({ isAside, isUnsorted, markCents }) {
    if (isUnsorted) return "unsorted";
    if (isAside) return "not counted";
    if (markCents === null) return "";
    const away = Math.abs(markCents);
    if (away <= this.#doing.toleranceCents) return "in tune";
    return away <= NEAR_CENTS ? "near" : "";
  }

  /**
   * It cannot be kept, and trying again would not help: its sound may still be saved as a file.
   * @param {number} id
   * @param {string} message
   */
  refuse(id, message) {
    const kept = this.#rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.said.textContent = `Not kept: ${message}`;
    kept.word.textContent = "not kept";
    draw(kept.mark, "problem");
    kept.refusedId = id;
    kept.doing.replaceChildren(takeButtons(this.#doing.outbox, { id, state: "refused" }));
  }

  /** Take refused takes off the list that lie in the outbox no more. @param {Set<number>} ids */
  keepOnly(ids) {
    for (const [id, { row, refusedId }] of this.#rows) {
      if (refusedId === null || ids.has(id)) continue;
      row.remove();
      this.#rows.delete(id);
    }
  }

  /** @param {Row} kept @param {number} take @param {Kind} kind @param {{url: string, words: string}} link */
  #offer(kept, take, kind, link) {
    const button = makeButton("Move to bin", () => this.#turn(kept, take, kind, button), "quiet");
    button.setAttribute("aria-label", `Move to bin: this ${kind} of ${kept.name}`);
    kept.doing.replaceChildren(makeLink(link.url, link.words), button);
  }

  /** @param {Row} kept @param {number} take @param {Kind} kind @param {HTMLButtonElement} button */
  async #turn(kept, take, kind, button) {
    const isBinned = kept.row.classList.contains("is-binned");
    const isDone = await (isBinned ? this.#doing.restore(take, kind) : this.#doing.bin(take, kind));
    if (!isDone) {
      kept.said.textContent = "The notebook did not answer, so nothing was changed. Try again.";
      this.#doing.say(kept.said.textContent);
      return;
    }
    kept.row.classList.toggle("is-binned", !isBinned);
    button.textContent = isBinned ? "Move to bin" : "Put it back";
    button.setAttribute("aria-label", `${button.textContent}: this ${kind} of ${kept.name}`);
    writeSaid(kept.said, isBinned ? kept.words : "In the bin.");
    this.#doing.say(isBinned ? `The ${kind} is back.` : `The ${kind} is in the bin.`);
  }
}

/** @param {SVGElement} svg @param {Mark} mark */
function draw(svg, mark) {
  svg.replaceChildren();
  makeSvg("path", { d: MARKS[mark], class: `mark-${mark}` }, svg);
}
