// The takes of this evening on the page, the newest first: what was played, what it was found to be.

import { takeButtons } from "../take-buttons.js";
import { formatCents } from "../sound/pitch-words.js";

function make(name, className, words = "") {
  const made = document.createElement(name);
  made.className = className;
  made.textContent = words;
  return made;
}

function makeButton(words, act) {
  const made = make("button", "quiet", words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

/**
 * A number with its uncertainty, as the entry pages write it.
 * @param {object} result as the server answers
 * @param {number} [shiftCents] how far what the fingering was logged for lies from the target
 */
export function describeOffset({ offset_cents: offset, uncertainty_cents: uncertainty }, shiftCents = 0) {
  if (offset === null) return "no pitch";
  const give = uncertainty === null ? "" : ` ± ${formatGive(uncertainty)}`;
  return `${formatCents(offset + shiftCents, 1)}${give} cents`;
}

/** An uncertainty, rounded up: no recording proves a pitch to 0.0 (as webapp/figures.py). */
export function formatGive(cents) {
  return Math.max(0.1, Math.ceil(cents * 10 - 1e-9) / 10).toFixed(1);
}

export class StandTakeList {
  /**
   * @param {HTMLElement} list
   * @param {{bin: (take: number) => Promise<boolean>, restore: (take: number) => Promise<boolean>,
   *   outbox: import("../sound/outbox.js").Outbox, say: (words: string) => void}} doing
   */
  constructor(list, doing) {
    this._list = list;
    this._doing = doing;
    this._rows = new Map();
  }

  /** A note was cut; nothing is known of it yet. */
  add(id, { name, keys }, words = "being measured…") {
    if (this._rows.has(id)) return;
    const row = make("li", "stand-take");
    const what = make("p", "stand-take-what");
    what.append(make("strong", "", name), " ", make("span", "muted", keys));
    const number = make("p", "stand-take-number");
    const doing = make("p", "stand-take-doing");
    const said = make("p", "stand-take-words", words);
    row.append(number, what, doing, said);
    this._list.prepend(row);
    this._rows.set(id, { row, number, doing, said, name });
  }

  has(id) {
    return this._rows.has(id);
  }

  /** Something is said of a take that has no result yet. */
  say(id, words) {
    const kept = this._rows.get(id);
    if (kept && !kept.isSettled) kept.said.textContent = words;
  }

  /** The server has measured it; it lies so far from the target on the stand, in these words. */
  settle(id, result, words) {
    const kept = this._rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.refusedId = undefined;
    kept.number.textContent = words;
    kept.said.textContent = [result.is_usable ? "" : result.words, ...(result.warnings ?? [])].join(" ").trim();
    this._offer(kept, result);
  }

  /** It cannot be kept, and trying again would not help: its sound may still be saved as a file. */
  refuse(id, message) {
    const kept = this._rows.get(id);
    if (!kept) return;
    kept.isSettled = true;
    kept.said.textContent = `Not kept: ${message}`;
    kept.refusedId = id;
    kept.doing.replaceChildren(takeButtons(this._doing.outbox, { id, state: "refused" }));
  }

  /** Take refused takes off the list that lie in the outbox no more. @param {Map<number, object>} items */
  keepOnly(items) {
    for (const [id, { row, refusedId }] of this._rows) {
      if (refusedId === undefined || items.has(id)) continue;
      row.remove();
      this._rows.delete(id);
    }
  }

  _offer(kept, result) {
    const link = make("a", "", "Look at it");
    link.href = result.url;
    const button = makeButton("Put in the bin", () => this._turn(kept, result, button));
    button.setAttribute("aria-label", `Put in the bin: this take of ${kept.name}`);
    kept.doing.replaceChildren(link, button);
  }

  async _turn(kept, result, button) {
    const isBinned = kept.row.classList.contains("is-binned");
    const isDone = await (isBinned ? this._doing.restore(result.take) : this._doing.bin(result.take));
    if (!isDone) {
      kept.said.textContent = "The notebook did not answer, so nothing was changed. Try again.";
      this._doing.say(kept.said.textContent);
      return;
    }
    kept.row.classList.toggle("is-binned", !isBinned);
    button.textContent = isBinned ? "Put in the bin" : "Put it back";
    button.setAttribute("aria-label", `${button.textContent}: this take of ${kept.name}`);
    kept.said.textContent = isBinned ? "" : "In the bin.";
    this._doing.say(isBinned ? "The take is back." : "The take is in the bin.");
  }
}
