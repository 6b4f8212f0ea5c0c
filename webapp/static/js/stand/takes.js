// @ts-check
// From a note that was cut to a take in the list: what the outbox and the recorder say of it.

import { find, make, show } from "../dom.js";
import { send } from "./asking.js";
import { findPlace } from "./page.js";
import { StandTakeList } from "./stand-take-list.js";
import { findRestood, formatGive, tellLoop, tellTake } from "../take-results.js";
import { formatCents } from "../sound/pitch-words.js";
import { isWatched } from "../sound/watched.js";

const WAITS = "Waits in this browser. It is sent as soon as the notebook answers; nothing is lost.";
const SLOW_MS = 4000;

/** @typedef {import("./page.js").Target} Target */
/** @typedef {import("../sound/outbox.js").OutboxDetails} OutboxDetails */
/** @typedef {import("../sound/sending.js").MeasuredTake} MeasuredTake */
/** @typedef {import("./page.js").Candidate} Candidate */
/** @typedef {{id: number, target: number, candidate: Candidate, place: import("../take-results.js").Place, result: MeasuredTake}} Played */

export class Takes {
  #targets;
  #outbox;
  #marks;
  #say;
  #none;
  #list;
  #unsortedUrl;
  /** @type {Map<number, Played>} by the number of the take in the notebook */
  #played = new Map();
  /** @type {Map<number, Candidate>} by the number of the loop in the notebook */
  #looped = new Map();

  /**
   * @param {{stand: HTMLElement, targets: Target[], outbox: import("../sound/outbox.js").Outbox,
   *   marks: import("./marks.js").Marks<import("../sound/trace-drawing.js").TakeMark>, say: (words: string) => void}} parts
   */
  constructor({ stand, targets, outbox, marks, say }) {
    this.#targets = targets;
    this.#outbox = outbox;
    this.#marks = marks;
    this.#say = say;
    this.#none = find(stand, "[data-no-takes]");
    this.#unsortedUrl = stand.dataset.unsortedUrl ?? "";
    this.#list = new StandTakeList(find(stand, "[data-takes]"), {
      toleranceCents: Number(stand.dataset.toleranceCents),
      bin: (take, kind) => this.#turn(take, kind, `/bin/${kind}/${take}.json`),
      restore: (take, kind) => this.#turn(take, kind, `/bin/${kind}/${take}/restore.json`),
      outbox,
      say,
    });
    outbox.on("result", (detail) => this.#settle(detail));
    outbox.on("refused", (detail) => this.#refuse(detail));
    outbox.on("change", () => this.#refresh());
  }

  /** @param {import("./live-listening.js").LiveListening} listening whose notes become takes */
  follow(listening) {
    listening.on("note", (note) => this.#add(note));
  }

  /** Takes that waited since before this page was opened. */
  async showWaiting() {
    for (const item of await this.#outbox.list()) {
      if (!this.#find(item)) continue;
      this.#add(item, WAITS);
      if (item.state === "refused") this.#list.refuse(item.id, item.message);
    }
  }

  /** @param {{url: string, label: string}} item */
  #find(item) {
    return findPlace(this.#targets, item);
  }

  /**
   * @param {{id: number, url: string, label: string, fields: Record<string, string>}} take
   * @param {string} [words]
   */
  #add({ id, url, label, fields }, words) {
    const found = this.#find({ url, label });
    const note = found ? this.#targets[found.target].note : label;
    const what = { name: found?.name ?? label, note, keys: found?.candidate.keys ?? "", isWatched: isWatched({ fields }) };
    show(this.#none, false);
    this.#list.add(id, what, words);
    if (!words) setTimeout(() => this.#list.say(id, WAITS), SLOW_MS);
  }

  /** @param {OutboxDetails["result"]} detail */
  #settle({ id, item, result }) {
    const found = this.#find(item);
    if (!found) return;
    const { target, name, candidate } = found;
    const { note } = this.#targets[target];
    const isAsked = this.#targets[target].hz !== null;
    const { shiftCents } = candidate;
    const place = { name, note, isAsked, shiftCents, unsortedUrl: this.#unsortedUrl };
    this.#add({ ...item, id }, WAITS);
    if (result.loop) {
      this.#looped.set(result.take, candidate);
      const told = tellLoop(result, result.loop, name);
      this.#list.settle(id, result.take, told, "loop");
      showPooledLoop(candidate, result.pooled_loop ?? null);
      this.#say(told.spoken);
      return;
    }
    const told = this.#show({ id, target, candidate, place, result });
    this.#stand(result.standings ?? []);
    showPooled(candidate, result.pooled);
    this.#say(told.spoken);
  }

  /** A take as it stands now, in the list and on the display. @param {Played} played */
  #show(played) {
    const { id, target, place, result } = played;
    const told = tellTake(result, place);
    this.#played.set(result.take, played);
    this.#list.settle(id, result.take, told, "take");
    if (told.markCents === null) this.#marks.remove(target, id);
    else this.#marks.add(target, id, { offsetCents: told.markCents, uncertaintyCents: result.uncertainty_cents });
    return told;
  }

  /**
   * Takes are judged as a set: one more, or one less, may change what the others count for.
   * @param {import("../sound/sending.js").Standing[]} standings
   */
  #stand(standings) {
    const results = [...this.#played.values()].map(({ result }) => result);
    for (const result of findRestood(results, standings)) {
      const played = this.#played.get(result.take);
      if (played) this.#show({ ...played, result });
    }
  }

  /**
   * Put a take or a loop in the bin, or take it out again.
   * @param {number} take @param {"take" | "loop"} kind @param {string} url
   */
  async #turn(take, kind, url) {
    const { isDone, body } = await send(url);
    if (isDone && body && kind === "loop") {
      const candidate = this.#looped.get(take);
      if (candidate) showPooledLoop(candidate, body.pooled_loop ?? null);
    } else if (isDone && body) {
      this.#stand(body.standings ?? []);
      const played = this.#played.get(take);
      if (played) showPooled(played.candidate, body.pooled ?? null);
    }
    return isDone;
  }

  /** @param {OutboxDetails["refused"]} detail */
  #refuse({ id, item, message }) {
    if (!this.#find(item)) return;
    this.#add({ ...item, id }, WAITS);
    this.#list.refuse(id, message);
    this.#say(`Not kept: ${message}`);
  }

  /** Something has changed in the outbox: what could not be sent, what somebody let go of. */
  async #refresh() {
    const items = await this.#outbox.list();
    this.#list.keepOnly(new Set(items.map(({ id }) => id)));
    for (const { id, state, message } of items) {
      if (state !== "refused" && message) this.#list.say(id, WAITS);
    }
  }
}

/**
 * What the loops of a pair say together, in the place of what was there.
 * @param {Candidate} candidate
 * @param {import("../sound/sending.js").LoopPooled | null} pooled
 */
function showPooledLoop({ element }, pooled) {
  const ways = pooled ? pooled.ways : "not measured";
  find(element, "[data-loop-ways]").textContent = `${ways.charAt(0).toUpperCase()}${ways.slice(1)}`;
  find(element, "[data-loop-rate]").textContent = pooled ? `${pooled.rate}.` : "";
}

/**
 * What all takes of a fingering say together, in the place of the number that was there.
 * @param {import("./page.js").Candidate} candidate
 * @param {import("../sound/sending.js").MeasuredTake["pooled"]} pooled
 */
function showPooled({ element, shiftCents }, pooled) {
  if (!pooled) return;
  const place = find(element, "[data-number]");
  const number = make("span", "stand-figure", formatCents(pooled.offset_cents + shiftCents, 1));
  const takes = `${pooled.take_count} ${pooled.take_count === 1 ? "take" : "takes"}`;
  place.classList.remove("predicted");
  place.replaceChildren(number, ` ± ${formatGive(pooled.uncertainty_cents)} cents, ${takes}`);
  element.classList.remove("is-prediction");
}
