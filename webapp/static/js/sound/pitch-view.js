// The live display: how far what sounds lies from the target, now and over the last eight seconds.
//
// Zero is the target. The trace is written from left to right on a strip that moves only while
// something sounds. Numbers change five times a second at most, and show the held pitch (the middle of
// the last half second), so that they can be read. In a rest the trace and the last held number stay.
// Whoever wants less movement gets the picture twice a second.

import { PitchPanel } from "./pitch-panel.js";
import { describe } from "./pitch-words.js";
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

export class PitchView {
  /** @param {HTMLElement} element an empty place on the page */
  constructor(element) {
    this.element = element;
    this._paper = new TracePaper(LENGTH_S);
    this._drawing = new TraceDrawing(LENGTH_S);
    this._panel = new PitchPanel(element, this._drawing.svg, {
      onRange: (cents) => this._chooseRange(cents),
      onFreeze: () => this._setFrozen(!this._isFrozen),
      onSay: () => this.describe(),
    });
    this._calm = matchMedia("(prefers-reduced-motion: reduce)");
    this._target = { hz: null, label: "" };
    this._toleranceCents = 10;
    this._rangeCents = 50;
    this._name = null;
    this.clear();
    this.setRange(this._rangeCents);
    this._setFrozen(false);
    new ResizeObserver(([{ contentRect }]) => this._resize(contentRect)).observe(this._drawing.svg);
  }

  /** @param {{hz: number | null, label?: string}} target the sounding pitch, and its written name */
  setTarget({ hz, label = "" }) {
    const isOther = hz !== this._target.hz || label !== this._target.label;
    this._target = { hz, label };
    if (isOther) this.clear();
    this._show();
  }

  /** @param {number} cents one of RANGES in pitch-panel.js */
  setRange(cents) {
    this._rangeCents = cents;
    this._panel.pressRange(cents);
    this._show();
  }

  /** A range that the player chose is told to the page: event "range" on the element. */
  _chooseRange(cents) {
    this.setRange(cents);
    this.element.dispatchEvent(new CustomEvent("range", { detail: { cents } }));
  }

  /** @param {number} cents the player's tolerance to either side */
  setTolerance(cents) {
    this._toleranceCents = cents;
    this._show();
  }

  /** @param {(hz: number) => string} name from makeNamer */
  setNames(name) {
    this._name = name;
    this._showNumber();
  }

  /** @param {import("./tracker.js").Reading} reading */
  add(reading) {
    if (this._isFrozen) return;
    const { timeS, f0Hz } = reading;
    this._paper.add(timeS, f0Hz);
    if (f0Hz !== null) this._note(reading);
    const isNow = this._paper.silentS < REST_S;
    const everyS = this._calm.matches ? CALM_EVERY_S : NUMBER_EVERY_S;
    const isDue = !(Math.abs(timeS - this._numberS) < everyS);
    if (this._held.length && (isNow !== this._isNow || isDue)) {
      this._isNow = isNow;
      this._numberS = timeS;
      this._showNumber();
    }
    this._redraw();
  }

  /** Keep what is held, a release long: its end tells the pitch of letting go. */
  _note({ timeS, f0Hz, heldHz = f0Hz, spreadCents = null }) {
    const kept = this._held.filter((one) => timeS - one.timeS <= RELEASE_S && timeS >= one.timeS);
    this._held = [...kept, { timeS, hz: heldHz ?? f0Hz, spreadCents }];
  }

  /** @param {{offsetCents: number, uncertaintyCents?: number | null}} take as it was measured */
  markTake({ offsetCents, uncertaintyCents = null }) {
    this._takes = [...this._takes, { offsetCents, uncertaintyCents }].slice(-MOST_TAKES);
    this._drawing.drawTakes(this._takes);
  }

  /** Take trace, number and marks away. */
  clear() {
    this._paper.clear();
    this._held = [];
    this._takes = [];
    this._isNow = false;
    this._numberS = -Infinity;
    this._panel.unsay();
    this._show();
  }

  /** What the display says, in a sentence. @returns {string} */
  describe() {
    return describe(this._shown);
  }

  _setFrozen(isFrozen) {
    this._isFrozen = isFrozen;
    this._panel.pressFreeze(isFrozen);
    this._showNumber();
  }

  _toCents(hz) {
    return this._target.hz ? 1200 * Math.log2(hz / this._target.hz) : 0;
  }

  _show() {
    this._drawScale();
    this._showNumber();
  }

  _showNumber() {
    const held = this._isNow ? this._held.at(-1) : this._held[0];
    const cents = held && this._target.hz ? this._toCents(held.hz) : null;
    const rest = held ? "Last held" : "Nothing has sounded yet";
    this._shown = {
      cents,
      label: this._target.label,
      isNow: this._isNow && !this._isFrozen,
      isWithin: cents !== null && Math.abs(cents) <= this._toleranceCents,
      spreadCents: held?.spreadCents ?? null,
      name: held && this._name ? this._name(held.hz) : null,
      decimals: this._rangeCents <= FINE_RANGE ? 1 : 0,
      still: this._isFrozen ? "Held still" : rest,
    };
    this._panel.show(this._shown);
  }

  _resize({ width, height }) {
    if (!width || !height) return;
    this._drawing.resize(width, height);
    this._drawScale();
  }

  _drawScale() {
    const { label } = this._target;
    this._drawing.drawScale({ rangeCents: this._rangeCents, toleranceCents: this._toleranceCents });
    const scales = `Band: your tolerance, ${this._toleranceCents} cents. Width: ${LENGTH_S} seconds.`;
    this._panel.explain(label ? `Bold line: ${label}. ${scales}` : "");
    this._drawing.drawTakes(this._takes);
    this._draw();
  }

  /** Draw soon, but no more often than is calm. */
  _redraw() {
    if (this._isWaiting) return;
    this._isWaiting = true;
    const everyMs = this._calm.matches ? CALM_EVERY_S * 1000 : FRAME_MS;
    const restMs = everyMs - (performance.now() - this._drawnMs);
    const draw = () => requestAnimationFrame(() => {
      this._isWaiting = false;
      this._draw();
    });
    if (restMs > 4) setTimeout(draw, restMs);
    else draw();
  }

  _draw() {
    this._drawnMs = performance.now();
    const { newest, silentS } = this._paper;
    const toCents = (hz) => this._toCents(hz);
    this._drawing.drawTrace(this._paper, toCents, newest && silentS < REST_S ? toCents(newest.hz) : null);
  }
}
