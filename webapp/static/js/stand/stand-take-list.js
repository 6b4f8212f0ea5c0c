// @ts-check
// The takes of this evening on the page, the newest first: what was played, what it was found to be.

import { make, makeButton, makeLink } from "../dom.js";
import { takeButtons } from "../take-buttons.js";

/**
 * @typedef {object} Row of one take
 * @property {HTMLElement} row
 * @property {HTMLElement} number
 * @property {HTMLElement} doing what can be done with it
 * @property {HTMLElement} said
 * @property {string} name of the target
 * @property {string} words that were told of it
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
   * @param {{name: string, keys: string, isWatched: boolean}} what target and fingering, and how it was played
   * @param {string} [words]
   */
  add(id, { name, keys, isWatched }, words = "being measured…") {
    if (this.#rows.has(id)) return;
    const row = make("li", "stand-take");
    const what = make("p", "stand-take-what");
    what.append(make("strong", "", name), " ", make("span", "muted", keys));
    if (isWatched) what.append(" ", make("span", "take-watched", "watched"));
    const number = make("p", "stand-take-number");
    const doing = make("p", "stand-take-doing");
    const said = make("p", "stand-take-words", words);
    row.append(number, what, doing, said);
    this.#list.prepend(row);
    this.#rows.set(id, { row, number, doing, said, name, words: "", isSettled: false, refusedId: null });
  }

  /** Something is said of a take that has no result yet. @param {number} id @param {string} words */
  say(id, words) {
    const kept = this.#rows.get(id);
    if (kept && !kept.isSettled) kept.said.textContent = words;
  }

  /**
   * The server has measured it, and this is what is told of it.
   * @param {number} id
   * @param {number} take its number there
   * @param {import("../take-results.js").Told} told
   */
  settle(id, take, told) {
    const kept = this.#rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.refusedId = null;
    kept.words = told.words;
    kept.number.textContent = told.figure;
    kept.said.textContent = told.words;
    kept.row.classList.toggle("is-aside", told.isAside);
    this.#offer(kept, take, told.link);
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

  /** @param {Row} kept @param {number} take @param {{url: string, words: string}} link */
  #offer(kept, take, link) {
    const button = makeButton("Put in the bin", () => this.#turn(kept, take, button), "quiet");
    button.setAttribute("aria-label", `Put in the bin: this take of ${kept.name}`);
    kept.doing.replaceChildren(makeLink(link.url, link.words), button);
  }

  /** @param {Row} kept @param {number} take @param {HTMLButtonElement} button */
  async #turn(kept, take, button) {
    const isBinned = kept.row.classList.contains("is-binned");
    const isDone = await (isBinned ? this.#doing.restore(take) : this.#doing.bin(take));
    if (!isDone) {
      kept.said.textContent = "The notebook did not answer, so nothing was changed. Try again.";
      this.#doing.say(kept.said.textContent);
      return;
    }
    kept.row.classList.toggle("is-binned", !isBinned);
    button.textContent = isBinned ? "Put in the bin" : "Put it back";
    button.setAttribute("aria-label", `${button.textContent}: this take of ${kept.name}`);
    kept.said.textContent = isBinned ? kept.words : "In the bin.";
    this.#doing.say(isBinned ? "The take is back." : "The take is in the bin.");
  }
}
