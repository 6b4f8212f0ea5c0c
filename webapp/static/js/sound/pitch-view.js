// @ts-check
// The live display: how far what sounds lies from the target, now and over the last eight seconds.
//
// Zero is the target. The trace is written from left to right on a strip that moves only while
// something sounds. Numbers change five times a second at most, and show the held pitch (the middle of
// the last half second), so that they can be read. In a rest the trace and the last held number stay.
// While a note is measured its trace and number are hidden until it ends: who watches them mends the
// note with the lip. Whoever wants to see them while playing says so: watching.
// Whoever wants less movement gets the picture twice a second.

import { dispatch } from "../dom.js";
import { inWords, joinSaid } from "../said.js";
import { PitchPanel } from "./pitch-panel.js";
import { describe, OTHER_NOTE_CENTS } from "./pitch-words.js";
import { TraceDrawing } from "./trace-drawing.js";
import { TracePaper } from "./trace-paper.js";

const LENGTH_S = 8;
const NUMBER_EVERY_S = 0.2;
const CALM_EVERY_S = 0.5;
const FRAME_MS = 30;
const REST_S = 0.3; // a gap shorter than this is no rest
const RELEASE_S = 0.2; // the end of a note, where the pitch lets go
const MOST_TAKES = 6;
const FINE_RANGE = 10; // here the number has a decimal
const HIDDEN = "comes when the note ends";

/** @typedef {{timeS: number, hz: number, spreadCents: number | null}} Held what sounded at a moment */

export class PitchView {
  #paper = new TracePaper(LENGTH_S);
  #drawing = new TraceDrawing(LENGTH_S);
  #panel;
  #calm = matchMedia("(prefers-reduced-motion: reduce)");
  /** @type {{hz: number | null, label: import("../said.js").Said}} */
  #target = { hz: null, label: "" };
  #toleranceCents = 10;
  #rangeCents = 50;
  /** @type {import("./written-names.js").Namer | null} */
  #name = null;
  /** @type {Held[]} the oldest first */
  #held = [];
  /** @type {import("./trace-drawing.js").TakeMark[]} */
  #takes = [];
  #isNow = false;
  #isWatching = false;
  #isSounding = false;
  #isFrozen = false;
  #isWaiting = false; // to be drawn
  #numberS = -Infinity;
  #drawnMs = 0;
  #shown = this.#readNumber();

  /** @param {HTMLElement} element an empty place on the page */
  constructor(element) {
    this.element = element;
    this.#panel = new PitchPanel(element, this.#drawing.svg, {
      onRange: (cents) => this.#chooseRange(cents),
      onFreeze: () => this.#setFrozen(!this.#isFrozen),
      onSay: () => this.describe(),
    });
    this.clear();
    this.setRange(this.#rangeCents);
    this.#setFrozen(false);
    new ResizeObserver(([{ contentRect }]) => this.#resize(contentRect)).observe(this.#drawing.svg);
  }

  /** @returns {boolean} whether what was added is still to be drawn */
  get isWaiting() {
    return this.#isWaiting;
  }

  /** @param {{hz: number | null, label?: import("../said.js").Said}} target the sounding pitch, and its written name */
  setTarget({ hz, label = "" }) {
    const isOther = hz !== this.#target.hz || inWords(label) !== inWords(this.#target.label);
    this.#target = { hz, label };
    if (isOther) this.clear();
    this.#show();
  }

  /** @param {number} cents one of RANGES in pitch-panel.js */
  setRange(cents) {
    this.#rangeCents = cents;
    this.#panel.pressRange(cents);
    this.#show();
  }

  /** A range that the player chose is told to the page: event "range" on the element. @param {number} cents */
  #chooseRange(cents) {
    this.setRange(cents);
    dispatch(this.element, "range", { cents });
  }

  /** @param {number} cents the player's tolerance to either side */
  setTolerance(cents) {
    this.#toleranceCents = cents;
    this.#show();
  }

  /**
   * Whether trace and number are shown while a note sounds, or when it has ended.
   * @param {boolean} isWatching
   */
  setWatching(isWatching) {
    this.#isWatching = isWatching;
    this.#showNumber();
    this.#redraw();
  }

  /** Show something in the place of the trace, as long as there is none. @param {HTMLElement} element */
  place(element) {
    this.#panel.place(element);
  }

  /** What the recorder hears: a note may sound on where its pitch is lost. @param {boolean} isSounding */
  setSounding(isSounding) {
    this.#isSounding = isSounding;
  }

  /** @param {import("./written-names.js").Namer} name from makeNamer */
  setNames(name) {
    this.#name = name;
    this.#showNumber();
  }

  /** @param {import("./tracker.js").Reading} reading */
  add(reading) {
    if (this.#isFrozen && !this.#isHidden) return; // what is hidden is held still when it has ended
    const { timeS, f0Hz } = reading;
    // What is shown when a note has ended is of that note alone.
    if (f0Hz !== null && !this.#isNow && !this.#isWatching) this.#paper.clear();
    const hasMoved = this.#paper.add(timeS, f0Hz);
    if (f0Hz !== null) this.#note(reading, f0Hz);
    const isNow = this.#paper.silentS < REST_S || (this.#isNow && this.#isSounding);
    const isOther = isNow !== this.#isNow;
    if (!hasMoved && !isOther) return; // in a rest nothing is written anew
    const everyS = this.#calm.matches ? CALM_EVERY_S : NUMBER_EVERY_S;
    const isDue = !(Math.abs(timeS - this.#numberS) < everyS);
    if (this.#held.length && (isOther || isDue)) {
      this.#isNow = isNow;
      this.#numberS = timeS;
      this.#showNumber();
    }
    this.#redraw();
  }

  /**
   * Keep what is held, a release long: its end tells the pitch of letting go.
   * @param {import("./tracker.js").Reading} reading
   * @param {number} f0Hz its pitch
   */
  #note({ timeS, heldHz, spreadCents }, f0Hz) {
    const kept = this.#held.filter((one) => timeS - one.timeS <= RELEASE_S && timeS >= one.timeS);
    this.#held = [...kept, { timeS, hz: heldHz ?? f0Hz, spreadCents: spreadCents ?? null }];
  }

  /** Mark measured takes, the last with its number, and no others. @param {import("./trace-drawing.js").TakeMark[]} takes */
  markTakes(takes) {
    this.#takes = takes.slice(-MOST_TAKES);
    this.#drawing.drawTakes(this.#takes);
  }

  /** Take trace, number and marks away. */
  clear() {
    this.#paper.clear();
    this.#held = [];
    this.#takes = [];
    this.#isNow = false;
    this.#numberS = -Infinity;
    this.#panel.unsay();
    this.#show();
  }

  /** What the display says, in a sentence. @returns {string} */
  describe() {
    return describe(this.#shown);
  }

  /** @param {boolean} isFrozen */
  #setFrozen(isFrozen) {
    this.#isFrozen = isFrozen;
    this.#panel.pressFreeze(isFrozen);
    this.#showNumber();
  }

  /** @param {number} hz */
  #toCents(hz) {
    return this.#target.hz ? 1200 * Math.log2(hz / this.#target.hz) : 0;
  }

  /** Whether a note sounds that is measured and not watched. */
  get #isHidden() {
    return this.#isNow && !this.#isWatching;
  }

  #show() {
    this.#panel.showPicture(this.#target.hz !== null);
    this.#drawScale();
    this.#showNumber();
  }

  #showNumber() {
    this.#shown = this.#readNumber();
    this.#panel.show(this.#shown);
  }

  /** @returns {import("./pitch-panel.js").Shown} */
  #readNumber() {
    const held = this.#isNow ? this.#held.at(-1) : this.#held.at(0);
    const isHidden = this.#isHidden;
    const told = isHidden ? undefined : held;
    const cents = told && this.#target.hz ? this.#toCents(told.hz) : null;
    const names = told && this.#name ? this.#name(told.hz) : null;
    const isOther = told !== undefined && (cents === null || Math.abs(cents) > OTHER_NOTE_CENTS);
    const rest = held ? "Last held" : "Nothing has sounded yet";
    return {
      cents,
      label: this.#target.label,
      isNow: this.#isNow && !this.#isFrozen,
      isHidden,
      isWithin: cents !== null && Math.abs(cents) <= this.#toleranceCents,
      spreadCents: held?.spreadCents ?? null,
      name: names?.pitch ?? null,
      other: isOther ? names?.note ?? "another note" : null,
      decimals: this.#rangeCents <= FINE_RANGE ? 1 : 0,
      still: this.#isFrozen ? "Frozen" : rest,
    };
  }

  /** @param {DOMRectReadOnly} size */
  #resize({ width, height }) {
    if (!width || !height) return;
    this.#drawing.resize(width, height);
    this.#drawScale();
  }

  #drawScale() {
    const { label } = this.#target;
    this.#drawing.drawScale({ rangeCents: this.#rangeCents, toleranceCents: this.#toleranceCents });
    const scales = `. Band: your tolerance, ${this.#toleranceCents} cents. Width: ${LENGTH_S} seconds.`;
    this.#panel.explain(inWords(label) ? [...joinSaid("Bold line:", label), scales] : "");
    this.#drawing.drawTakes(this.#takes);
    this.#draw();
  }

  /** Draw soon, but no more often than is calm. */
  #redraw() {
    if (this.#isWaiting) return;
    this.#isWaiting = true;
    const everyMs = this.#calm.matches ? CALM_EVERY_S * 1000 : FRAME_MS;
    const restMs = everyMs - (performance.now() - this.#drawnMs);
    const draw = () => requestAnimationFrame(() => {
      this.#isWaiting = false;
      this.#draw();
    });
    if (restMs > 4) setTimeout(draw, restMs);
    else draw();
  }

  #draw() {
    this.#drawnMs = performance.now();
    if (this.#isHidden) {
      this.#drawing.hideTrace(HIDDEN);
      return;
    }
    const { newest, silentS } = this.#paper;
    const toCents = (/** @type {number} */ hz) => this.#toCents(hz);
    this.#drawing.drawTrace(this.#paper, toCents, newest && silentS < REST_S ? toCents(newest.hz) : null);
  }
}
