// @ts-check
// The takes of this visit, the newest first, each with its result or with where it waits.

import { TypedEventTarget } from "./typed-event-target.js";
import { find, findOptional, make, makeLink, write } from "./dom.js";
import { writeSaid } from "./notes.js";
import { inWords, joinSaid } from "./said.js";
import { isWatched } from "./sound/watched.js";
import { findRestood, isElsewhere, isSetAside } from "./take-results.js";
import { takeButtons } from "./take-buttons.js";

const moment = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", second: "2-digit" });
const MEASURING = "Measuring…";
const WAITING = "Waits in this browser";
/** @type {["isClipped" | "hasGap" | "isCutOff", string][]} */
const MARKS = [
  ["isClipped", "Too loud: the sound is cut off at the top."],
  ["hasGap", "Some sound was lost on the way from the microphone."],
  ["isCutOff", "Longer than a take may be: the first half minute is kept."],
];

/**
 * @typedef {object} Measured a row whose take has its result
 * @property {HTMLElement} row
 * @property {import("./take-results.js").MeasuredTake} result as it stands now
 * @property {string} marks what was said of the recording itself
 */

/**
 * One list; the detail of "result" is words for those who do not see it.
 * @extends {TypedEventTarget<{result: string}>}
 */
export class VisitTakeList extends TypedEventTarget {
  #place;
  #outbox;
  #listPlaces;
  /** @type {Map<number, HTMLElement>} */
  #rows = new Map();
  /** @type {Map<number, Measured>} by the number of the take in the notebook */
  #measured = new Map();
  #count = 0;

  /**
   * @param {HTMLElement} place
   * @param {import("./sound/outbox.js").Outbox} outbox
   * @param {() => string[]} listPlaces where its takes may go
   */
  constructor(place, outbox, listPlaces) {
    super();
    this.#place = place;
    this.#outbox = outbox;
    this.#listPlaces = listPlaces;
    outbox.on("result", (detail) => this.#showResult(detail));
    outbox.on("refused", () => this.#refresh());
    outbox.on("change", () => this.#refresh());
  }

  /** List a note that was just cut. @param {import("./sound/recorder.js").RecordedNote} note */
  add(note) {
    const length = `${note.durationS.toFixed(1)} s`;
    const marks = MARKS.filter(([name]) => note[name]).map(([, words]) => words);
    this.#addRow(note, `Take ${this.#count + 1}, ${length}`, marks);
    this.#say(note.id, MEASURING);
  }

  /** List what waits here from an earlier visit. */
  async showKept() {
    const places = this.#listPlaces();
    for (const item of await this.#outbox.list()) {
      if (places.includes(item.url) && !this.#rows.has(item.id)) {
        this.#addRow(item, `Take of ${moment.format(item.keptAt)}`, []);
        this.#say(item.id, WAITING);
      }
    }
    await this.#refresh();
  }

  /**
   * @param {{id: number, fields: Record<string, string>}} take
   * @param {string} name
   * @param {string[]} marks
   */
  #addRow(take, name, marks) {
    this.#count += 1;
    const row = make("li");
    row.dataset.take = String(take.id);
    const heading = make("p");
    heading.append(make("span", "recorder-name", name));
    if (isWatched(take)) heading.append(" ", make("span", "take-watched", "watched"));
    row.append(heading, make("p", "recorder-result"), make("p", "muted", marks.join(" ")));
    this.#place.prepend(row);
    this.#rows.set(take.id, row);
  }

  /** @param {number} id @param {string} words */
  #say(id, words) {
    const row = this.#rows.get(id);
    if (row) write(find(row, ".recorder-result"), words);
  }

  /** @param {import("./sound/outbox.js").OutboxDetails["result"]} detail */
  #showResult({ id, result }) {
    const row = this.#rows.get(id);
    if (!row) return;
    this.#rows.delete(id);
    findOptional(row, ".take-buttons")?.remove();
    const name = find(row, ".recorder-name");
    name.replaceChildren(makeLink(result.url, name.textContent ?? ""));
    const words = this.#tell({ row, result, marks: find(row, ".muted").textContent ?? "" });
    this.#stand(result.standings ?? []);
    const figure = isElsewhere(result) ? "" : ` ${result.figure ?? "no pitch"}.`;
    const spoken = joinSaid(`${name.textContent}:${figure}`, ...words);
    this.emit("result", inWords(spoken));
  }

  /** A take as it stands now. @param {Measured} measured @returns {import("./said.js").Said[]} what was told of it */
  #tell(measured) {
    const { row, result, marks } = measured;
    this.#measured.set(result.take, measured);
    const isFar = isElsewhere(result);
    writeSaid(find(row, ".recorder-result"), isFar ? result.played : result.figure ?? "No pitch");
    row.classList.toggle("is-measured", result.is_usable);
    const isAside = isSetAside(result);
    row.classList.toggle("is-aside", isAside || isFar);
    const isUnsorted = result.fingering === null;
    /** @type {import("./said.js").Said[]} */
    const unsorted = [[...joinSaid("You played", result.played), "."], result.standing];
    const reasons = isUnsorted ? unsorted : isAside ? [result.standing] : result.warnings;
    const words = result.is_usable ? reasons : [result.words, ...result.warnings];
    const said = find(row, ".muted");
    writeSaid(said, joinSaid(...words, marks));
    if (isAside) said.append(" ", makeLink(result.url, "What was it?"));
    return words;
  }

  /**
   * Takes are judged as a set: one more may change what the others count for.
   * @param {import("./sound/sending.js").Standing[]} standings
   */
  #stand(standings) {
    const results = [...this.#measured.values()].map(({ result }) => result);
    for (const result of findRestood(results, standings)) {
      const measured = this.#measured.get(result.take);
      if (measured) this.#tell({ ...measured, result });
    }
  }

  async #refresh() {
    const items = new Map((await this.#outbox.list()).map((item) => [item.id, item]));
    for (const [id, row] of this.#rows) {
      const item = items.get(id);
      if (item) this.#showItem(row, item);
      else this.#showGone(id, row);
    }
  }

  /**
   * The player let go of it, or another tab has sent it and its result is on the way.
   * @param {number} id
   * @param {HTMLElement} row
   */
  #showGone(id, row) {
    this.#say(id, "No longer in this browser");
    findOptional(row, ".take-buttons")?.remove();
  }

  /** @param {HTMLElement} row @param {import("./sound/outbox.js").Item} item */
  #showItem(row, item) {
    const buttons = findOptional(row, ".take-buttons");
    if (item.state === "waiting" && !item.message) {
      if (buttons) this.#say(item.id, MEASURING);
      buttons?.remove();
      return;
    }
    this.#say(item.id, item.state === "refused" ? "Not kept" : WAITING);
    write(find(row, ".muted"), item.message);
    if (buttons?.dataset.state !== item.state) {
      buttons?.remove();
      row.append(takeButtons(this.#outbox, item));
    }
  }
}
