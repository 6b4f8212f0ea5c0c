// @ts-check
// The takes of this evening on the page, the newest first: what was played, what it was found to be.

import { make, makeButton, makeLink } from "../dom.js";
import { takeButtons } from "../take-buttons.js";
import { formatCents } from "../sound/pitch-words.js";

/** @typedef {import("../sound/sending.js").MeasuredTake} MeasuredTake */

/**
 * @typedef {object} Row of one take
 * @property {HTMLElement} row
 * @property {HTMLElement} number
 * @property {HTMLElement} doing what can be done with it
 * @property {HTMLElement} said
 * @property {string} name of the target
 * @property {boolean} isSettled
 * @property {number | null} refusedId
 */

/**
 * A number with its uncertainty, as the entry pages write it.
 * @param {Pick<MeasuredTake, "offset_cents" | "uncertainty_cents">} result
 * @param {number} [shiftCents] how far what the fingering was logged for lies from the target
 */
export function describeOffset({ offset_cents: offset, uncertainty_cents: uncertainty }, shiftCents = 0) {
  if (offset === null) return "no pitch";
  const give = uncertainty === null ? "" : ` ± ${formatGive(uncertainty)}`;
  return `${formatCents(offset + shiftCents, 1)}${give} cents`;
}

/** An uncertainty, rounded up: no recording proves a pitch to 0.0 (as drawing/figures.py). @param {number} cents */
export function formatGive(cents) {
  return Math.max(0.1, Math.ceil(cents * 10 - 1e-9) / 10).toFixed(1);
}

export class StandTakeList {
  #list;
  #doing;
  /** @type {Map<number, Row>} */
  #rows = new Map();

  /**
   * @param {HTMLElement} list
   * @param {{bin: (take: number) => Promise<boolean>, restore: (take: number) => Promise<boolean>,
   *   outbox: import("../sound/outbox.js").Outbox, say: (words: string) => void}} doing
   */
  constructor(list, doing) {
    this.#list = list;
    this.#doing = doing;
  }

  /**
   * A note was cut; nothing is known of it yet.
   * @param {number} id
   * @param {{name: string, keys: string}} what target and fingering
   * @param {string} [words]
   */
  add(id, { name, keys }, words = "being measured…") {
    if (this.#rows.has(id)) return;
    const row = make("li", "stand-take");
    const what = make("p", "stand-take-what");
    what.append(make("strong", "", name), " ", make("span", "muted", keys));
    const number = make("p", "stand-take-number");
    const doing = make("p", "stand-take-doing");
    const said = make("p", "stand-take-words", words);
    row.append(number, what, doing, said);
    this.#list.prepend(row);
    this.#rows.set(id, { row, number, doing, said, name, isSettled: false, refusedId: null });
  }

  /** Something is said of a take that has no result yet. @param {number} id @param {string} words */
  say(id, words) {
    const kept = this.#rows.get(id);
    if (kept && !kept.isSettled) kept.said.textContent = words;
  }

  /**
   * The server has measured it; it lies so far from the target on the stand, in these words.
   * @param {number} id
   * @param {MeasuredTake} result
   * @param {string} words
   */
  settle(id, result, words) {
    const kept = this.#rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.refusedId = null;
    kept.number.textContent = words;
    kept.said.textContent = [result.is_usable ? "" : result.words, ...(result.warnings ?? [])].join(" ").trim();
    this.#offer(kept, result);
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

  /** @param {Row} kept @param {MeasuredTake} result */
  #offer(kept, result) {
    const button = makeButton("Put in the bin", () => this.#turn(kept, result, button), "quiet");
    button.setAttribute("aria-label", `Put in the bin: this take of ${kept.name}`);
    kept.doing.replaceChildren(makeLink(result.url, "Look at it"), button);
  }

  /** @param {Row} kept @param {MeasuredTake} result @param {HTMLButtonElement} button */
  async #turn(kept, result, button) {
    const isBinned = kept.row.classList.contains("is-binned");
    const isDone = await (isBinned ? this.#doing.restore(result.take) : this.#doing.bin(result.take));
    if (!isDone) {
      kept.said.textContent = "The notebook did not answer, so nothing was changed. Try again.";
      this.#doing.say(kept.said.textContent);
      return;
    }
    kept.row.classList.toggle("is-binned", !isBinned);
    button.textContent = isBinned ? "Put in the bin" : "Put it back";
    button.setAttribute("aria-label", `${button.textContent}: this take of ${kept.name}`);
    kept.said.textContent = isBinned ? "" : "In the bin.";
    this.#doing.say(isBinned ? "The take is back." : "The take is in the bin.");
  }
}
