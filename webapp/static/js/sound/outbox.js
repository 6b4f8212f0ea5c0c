// @ts-check
// Takes wait here until the notebook has them: nothing is lost when the tab is closed, the notebook
// is restarted or the line drops. Every page sends what waits; one tab at a time.

import { TypedEventTarget } from "../typed-event-target.js";
import { findOptional } from "../dom.js";
import { Late, nameOf, Pass, sendTake } from "./sending.js";
import { Shelf } from "./shelf.js";

const LONGEST_PAUSE_S = 60;
const LINE = "quartervent-takes"; // the name of the lock and of the channel between tabs
const NOT_LASTING =
  "This browser cannot keep takes, so they wait in this page only. Leave it open until they are sent, or download them.";

/** @typedef {{waiting: number, refused: number, elsewhere: number}} Counts */
/** @typedef {import("./shelf.js").KeptTake} KeptTake */
/**
 * What lies here: "elsewhere" was played into another notebook at this address, and what is not
 * lasting ends with the page.
 * @typedef {Omit<KeptTake, "state"> & {state: keyof Counts, isLasting: boolean}} Item
 */

/**
 * @typedef {object} OutboxDetails
 * @property {Counts} change
 * @property {{id: number, item: KeptTake, result: import("./sending.js").MeasuredTake}} result
 * @property {{id: number, item: KeptTake, message: string}} refused
 * @property {{message: string}} trouble takes end with the page
 */

/**
 * What one tab tells the others: that something has changed, or what became of a take.
 * @typedef {{name: "change"} | {name: "result", detail: OutboxDetails["result"]}
 *   | {name: "refused", detail: OutboxDetails["refused"]}} Told
 */

/** @type {Promise<Outbox> | null} */
let opened = null;

/**
 * The outbox of this browser.
 * @extends {TypedEventTarget<OutboxDetails>}
 */
export class Outbox extends TypedEventTarget {
  #shelf;
  #pass = new Pass();
  #notebook = findOptional(document, "meta[name=notebook]", HTMLMetaElement)?.content ?? "";
  /** @type {Promise<void> | null} */
  #running = null;
  #isWanted = false;
  #failures = 0;
  #timer = 0;
  #tabs = "BroadcastChannel" in globalThis ? new BroadcastChannel(LINE) : null;

  /** The page's outbox; it begins to send what waits. @returns {Promise<Outbox>} */
  static open() {
    opened ??= Shelf.open().then((shelf) => new Outbox(shelf));
    return opened;
  }

  /** @param {Shelf} shelf */
  constructor(shelf) {
    super();
    this.#shelf = shelf;
    this.#tabs?.addEventListener("message", ({ data }) => this.#takeIn(data));
    window.addEventListener("online", () => this.#sendSoon());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") this.#sendSoon();
    });
    this.#sendSoon();
  }

  /** Get ready to send, so that the first take is not slower than the others. */
  async prepare() {
    await this.#pass.get(true).catch(() => null);
  }

  /**
   * Keep a take until the notebook has it: from the moment of the call, also when the page is left in it.
   * @param {{url: string, wav: ArrayBuffer, fields?: Record<string, string>, label?: string,
   *   said?: import("../said.js").Said}} take
   * @returns {Promise<number>} its number here
   */
  async keep({ url, wav, fields = {}, label = "", said = label }) {
    /** @type {import("./shelf.js").Take} */
    const take = {
      url, fields, label, said, keptAt: Date.now(), notebook: this.#notebook, state: "waiting", message: "",
    };
    const { id, isLasting } = await this.#shelf.add(take, wav);
    if (!isLasting) this.emit("trouble", { message: NOT_LASTING });
    this.#noteChange();
    return id;
  }

  /** Send what waits. @returns {Promise<void>} when everything was tried once */
  send() {
    this.#isWanted = true;
    clearTimeout(this.#timer);
    this.#running ??= this.#run().finally(() => {
      this.#running = null;
    });
    return this.#running;
  }

  /** Everything that lies here, oldest first. @returns {Promise<Item[]>} */
  async list() {
    const items = await this.#shelf.list();
    return items.map((item) => ({ ...item, state: this.#stateOf(item) }));
  }

  /** Let go of a take. @param {number} id */
  async remove(id) {
    await this.#shelf.remove(id);
    await this.#noteChange();
  }

  /** Send a take that was refused once more. @param {number} id */
  async again(id) {
    await this.#shelf.change(id, { state: "waiting", message: "" });
    await this.#noteChange();
    await this.send();
  }

  /**
   * The sound of a take as a file.
   * @param {number} id
   * @returns {Promise<File | null>} null when it is here no more
   */
  async file(id) {
    const item = await this.#shelf.find(id);
    const sound = await this.#shelf.sound(id);
    return item && sound ? new File([sound], nameOf(item), { type: "audio/wav" }) : null;
  }

  /** @param {KeptTake} item @returns {keyof Counts} */
  #stateOf(item) {
    const isOurs = !item.notebook || !this.#notebook || item.notebook === this.#notebook;
    return isOurs ? item.state : "elsewhere";
  }

  async #sendSoon() {
    const { waiting } = await this.#count();
    if (waiting) await this.send();
  }

  async #run() {
    while (this.#isWanted) {
      this.#isWanted = false;
      const isLeft = await this.#sendAll();
      this.#failures = isLeft ? this.#failures + 1 : 0;
    }
    if (this.#failures === 0) return;
    const pauseS = Math.min(LONGEST_PAUSE_S, 2 ** (this.#failures - 1));
    this.#timer = window.setTimeout(() => this.send(), pauseS * 1000);
  }

  /** Try everything once, the newest first: it is the one that somebody looks at. */
  async #sendAll() {
    const items = (await this.list()).filter(({ state }) => state === "waiting").reverse();
    let isLeft = false;
    for (const { id } of items) {
      try {
        await inTurn(() => this.#sendOne(id));
      } catch (error) {
        if (!(error instanceof Late)) throw error;
        isLeft = true;
        // where nobody answers, the others wait for the same, though they were not tried
        for (const late of error.isSilent ? items : [{ id }]) {
          await this.#shelf.change(late.id, { message: error.message });
        }
        await this.#noteChange();
        if (error.isSilent) break;
      }
    }
    return isLeft;
  }

  /** @param {number} id */
  async #sendOne(id) {
    const item = await this.#shelf.find(id); // another tab may have sent it meanwhile
    if (item?.state !== "waiting") return;
    const sound = await this.#shelf.sound(id);
    if (!sound) return;
    const { result, refusal = "", isElsewhere } = await sendTake(item, sound, this.#pass);
    if (isElsewhere) throw new Late("Another notebook is open at this address now. The take waits for its own.");
    if (result) {
      await this.#shelf.remove(id);
      this.#tellAll({ name: "result", detail: { id, item, result } });
    } else {
      await this.#shelf.change(id, { state: "refused", message: refusal });
      this.#tellAll({ name: "refused", detail: { id, item, message: refusal } });
    }
    await this.#noteChange();
  }

  /** Say what lies here now, in every tab. */
  #noteChange() {
    this.#tellTabs({ name: "change" });
    return this.#count();
  }

  async #count() {
    const counts = { waiting: 0, refused: 0, elsewhere: 0 };
    for (const { state } of await this.list()) counts[state] += 1;
    this.emit("change", counts);
    return counts;
  }

  /** @param {Told} told by another tab, or to them */
  #takeIn(told) {
    if (told.name === "change") this.#count();
    else if (told.name === "result") this.emit(told.name, told.detail);
    else this.emit(told.name, told.detail);
  }

  /** @param {Told} told */
  #tellTabs(told) {
    this.#tabs?.postMessage(told);
  }

  /** @param {Told} told here and in every other tab */
  #tellAll(told) {
    this.#takeIn(told);
    this.#tellTabs(told);
  }
}

/**
 * One tab after the other; where browsers know no locks, sending twice does no harm either.
 * @param {() => Promise<void>} act
 */
function inTurn(act) {
  return navigator.locks ? navigator.locks.request(LINE, act) : act();
}
