// The live display: how far what sounds lies from the target, now and over the last eight seconds.
//
// Zero is the target. The trace is written from left to right on a strip that moves only while
// something sounds. Numbers change five times a second at most, and show the held pitch (the middle of
// the last half second), so that they can be read. In a rest the trace and the last held number stay.
// Whoever wants less movement gets the picture twice a second.

import { describe, describeSteadiness, formatCents, nameSide } from "./pitch-words.js";
import { TraceDrawing } from "./trace-drawing.js";
import { TracePaper } from "./trace-paper.js";

export const RANGES = [10, 25, 50, 100, 200];
const LENGTH_S = 8;
const NUMBER_EVERY_S = 0.2;
const CALM_EVERY_S = 0.5;
const FRAME_MS = 30;
const REST_S = 0.3; // a gap shorter than this is no rest
const RELEASE_S = 0.2; // the end of a note, where the pitch lets go
const MOST_TAKES = 6;
const FINE_RANGE = 10; // here the number has a decimal

function add(parent, name, className, words = "") {
  const made = document.createElement(name);
  made.className = className;
  made.textContent = words;
  parent.append(made);
  return made;
}

function addButton(parent, words, act, label) {
  const made = add(parent, "button", "", words);
  made.type = "button";
  if (label) made.setAttribute("aria-label", label);
  made.addEventListener("click", act);
  return made;
}

export class PitchView {
  /** @param {HTMLElement} element an empty place on the page */
  constructor(element) {
    this.element = element;
    this._paper = new TracePaper(LENGTH_S);
    this._drawing = new TraceDrawing(LENGTH_S);
    this._calm = matchMedia("(prefers-reduced-motion: reduce)");
    this._target = { hz: null, label: "" };
    this._toleranceCents = 10;
    this._name = null;
    this._isFrozen = false;
    this._build();
    this.clear();
    this.setRange(50);
    new ResizeObserver(([{ contentRect }]) => this._resize(contentRect)).observe(this._drawing.svg);
  }

  _build() {
    this.element.classList.add("live");
    const body = add(this.element, "div", "live-body");
    const now = add(body, "div", "live-now");
    now.setAttribute("aria-live", "off");
    this._state = add(now, "p", "live-state");
    const number = add(now, "p", "live-number");
    this._cents = add(number, "span", "live-cents");
    number.append(" ");
    this._side = add(number, "span", "live-side");
    this._within = add(now, "p", "live-within");
    this._sounds = add(now, "p", "live-name");
    this._steady = add(now, "p", "live-steady");
    const picture = add(body, "div", "live-picture");
    picture.append(this._drawing.svg);
    this._legend = add(picture, "p", "live-legend");
    this._buildControls(body);
    this._said = add(this.element, "p", "live-said");
    this._said.setAttribute("role", "status");
  }

  _buildControls(body) {
    const controls = add(body, "div", "live-controls");
    const ranges = add(controls, "div", "live-ranges");
    ranges.setAttribute("role", "group");
    ranges.setAttribute("aria-label", "Cents shown above and below the target");
    this._rangeButtons = RANGES.map((cents) =>
      addButton(ranges, `±${cents}`, () => this._chooseRange(cents), `${cents} cents either way`));
    this._freeze = addButton(controls, "Hold still", () => this._setFrozen(!this._isFrozen));
    this._freeze.setAttribute("aria-pressed", "false");
    addButton(controls, "Say it", () => { this._said.textContent = this.describe(); });
  }

  /** @param {{hz: number | null, label?: string}} target the sounding pitch, and its written name */
  setTarget({ hz, label = "" }) {
    const isOther = hz !== this._target.hz || label !== this._target.label;
    this._target = { hz, label };
    if (isOther) this.clear();
    this._drawScale();
    this._showNumber();
  }

  /** @param {number} cents one of RANGES */
  setRange(cents) {
    this._rangeCents = cents;
    for (const [at, button] of this._rangeButtons.entries()) {
      button.setAttribute("aria-pressed", String(RANGES[at] === cents));
    }
    this._drawScale();
    this._showNumber();
  }

  /** A range that the player chose is told to the page: event "range" on the element. */
  _chooseRange(cents) {
    this.setRange(cents);
    this.element.dispatchEvent(new CustomEvent("range", { detail: { cents } }));
  }

  /** @param {number} cents the player's tolerance to either side */
  setTolerance(cents) {
    this._toleranceCents = cents;
    this._drawScale();
    this._showNumber();
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
    this._said.textContent = "";
    if (!this._rangeCents) return;
    this._drawing.drawTakes(this._takes);
    this._showNumber();
    this._redraw();
  }

  _setFrozen(isFrozen) {
    this._isFrozen = isFrozen;
    this._freeze.setAttribute("aria-pressed", String(isFrozen));
    this._showNumber();
  }

  _toCents(hz) {
    return 1200 * Math.log2(hz / this._target.hz);
  }

  get _decimals() {
    return this._rangeCents <= FINE_RANGE ? 1 : 0;
  }

  /** What stands on the display. */
  _read() {
    const held = this._isNow ? this._held.at(-1) : this._held[0];
    const cents = held && this._target.hz ? this._toCents(held.hz) : null;
    return {
      cents,
      label: this._target.label,
      isNow: this._isNow && !this._isFrozen,
      isWithin: cents !== null && Math.abs(cents) <= this._toleranceCents,
      spreadCents: held?.spreadCents ?? null,
      name: held && this._name ? this._name(held.hz) : null,
      decimals: this._decimals,
    };
  }

  /** What the display says, in a sentence. @returns {string} */
  describe() {
    return describe(this._shown);
  }

  _showNumber() {
    this._shown = this._read();
    const { cents, isNow, isWithin, spreadCents, name, decimals } = this._shown;
    this.element.classList.toggle("is-still", !isNow);
    this.element.classList.toggle("is-within", isWithin);
    const still = this._isFrozen ? "Held still" : this._held.length ? "Last held" : "Nothing has sounded yet";
    this._state.textContent = isNow ? "Now" : still;
    this._cents.textContent = cents === null ? "–" : formatCents(cents, decimals);
    this._side.textContent = cents === null ? "" : nameSide(cents, decimals);
    this._within.textContent = isWithin ? "within your tolerance" : "";
    this._sounds.textContent = name === null ? "" : `Sounds as ${name}`;
    this._steady.textContent = spreadCents === null ? "" : describeSteadiness(spreadCents);
  }

  _resize({ width, height }) {
    if (!width || !height) return;
    this._drawing.resize(width, height);
    this._drawScale();
  }

  _drawScale() {
    if (!this._rangeCents) return;
    this._drawing.drawScale({ rangeCents: this._rangeCents, toleranceCents: this._toleranceCents });
    this._legend.textContent = this._target.label
      ? `Bold line: ${this._target.label}. Band: your tolerance, ${this._toleranceCents} cents. Width: ${LENGTH_S} seconds.`
      : "";
    this._drawing.drawTakes(this._takes);
    this._draw();
  }

  /** Draw soon, but no more often than is calm. */
  _redraw() {
    if (this._isWaiting) return;
    this._isWaiting = true;
    const everyMs = this._calm.matches ? CALM_EVERY_S * 1000 : FRAME_MS;
    const restMs = everyMs - (performance.now() - (this._drawnMs ?? -Infinity));
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
    const toCents = (hz) => (this._target.hz ? this._toCents(hz) : 0);
    this._drawing.drawTrace(this._paper, toCents, newest && silentS < REST_S ? toCents(newest.hz) : null);
  }
}
