// From a note that was cut to a take in the list: what the outbox and the recorder say of it.

import { send } from "./asking.js";
import { findPlace } from "./page.js";
import { StandTakeList, describeOffset, formatGive } from "./stand-take-list.js";
import { formatCents } from "../sound/pitch-words.js";

const WAITS = "Waits in this browser. It is sent as soon as the notebook answers; nothing is lost.";
const SLOW_MS = 4000;

export class Takes {
  constructor({ stand, targets, outbox, marks, say }) {
    this._targets = targets;
    this._outbox = outbox;
    this._marks = marks;
    this._say = say;
    this._none = stand.querySelector("[data-no-takes]");
    this._list = new StandTakeList(stand.querySelector("[data-takes]"), {
      bin: (take) => send(`/bin/take/${take}.json`).then(({ isDone }) => isDone),
      restore: (take) => send(`/bin/take/${take}/restore.json`).then(({ isDone }) => isDone),
      outbox,
      say,
    });
    outbox.addEventListener("result", ({ detail }) => this._settle(detail));
    outbox.addEventListener("refused", ({ detail }) => this._refuse(detail));
    outbox.addEventListener("change", () => this._refresh());
  }

  /** @param {EventTarget} listening whose notes become takes */
  follow(listening) {
    listening.addEventListener("note", ({ detail }) => this._add(detail));
  }

  /** Takes that waited since before this page was opened. */
  async showWaiting() {
    for (const item of await this._outbox.list()) {
      if (!this._find(item)) continue;
      this._add(item, WAITS);
      if (item.state === "refused") this._list.refuse(item.id, item.message);
    }
  }

  _find(item) {
    return findPlace(this._targets, item);
  }

  _add({ id, url, label }, words) {
    const found = this._find({ url, label });
    this._none.hidden = true;
    this._list.add(id, { name: found?.name ?? label, keys: found?.candidate.keys ?? "" }, words);
    if (!words) setTimeout(() => this._list.say(id, WAITS), SLOW_MS);
  }

  _settle({ id, item, result }) {
    const found = this._find(item);
    if (!found) return;
    const { target, name, candidate } = found;
    const words = describeOffset(result, candidate.shiftCents);
    this._add({ ...item, id }, WAITS);
    this._list.settle(id, result, words);
    if (result.offset_cents !== null) {
      const offsetCents = result.offset_cents + candidate.shiftCents;
      this._marks.add(target, id, { offsetCents, uncertaintyCents: result.uncertainty_cents });
    }
    showPooled(candidate, result.pooled);
    this._say(result.is_usable ? `${name}: ${words}.` : `${name}: ${result.words}`);
  }

  _refuse({ id, item, message }) {
    if (!this._find(item)) return;
    this._add({ ...item, id }, WAITS);
    this._list.refuse(id, message);
    this._say(`Not kept: ${message}`);
  }

  /** Something has changed in the outbox: what could not be sent, what somebody let go of. */
  async _refresh() {
    const items = new Map((await this._outbox.list()).map((item) => [item.id, item]));
    this._list.keepOnly(items);
    for (const { id, state, message } of items.values()) {
      if (state !== "refused" && message) this._list.say(id, WAITS);
    }
  }
}

/** What all takes of a fingering say together, in the place of the number that was there. */
function showPooled({ element, shiftCents }, pooled) {
  if (!pooled) return;
  const place = element.querySelector("[data-number]");
  const number = document.createElement("span");
  number.className = "stand-figure";
  number.textContent = formatCents(pooled.offset_cents + shiftCents, 1);
  const takes = `${pooled.take_count} ${pooled.take_count === 1 ? "take" : "takes"}`;
  place.classList.remove("predicted");
  place.replaceChildren(number, ` ± ${formatGive(pooled.uncertainty_cents)} cents, ${takes}`);
  element.classList.remove("is-prediction");
}
