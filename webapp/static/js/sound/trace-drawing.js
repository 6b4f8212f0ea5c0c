// The trace as SVG: cents from the target upwards, time to the right, the target a bold line in the
// middle, the tolerance a band about it. Colours are the page's own, by class, so that it follows
// light and dark by itself. Measured beside a canvas: a third of the work on the page's thread.

import { formatCents } from "./pitch-words.js";

const SVG = "http://www.w3.org/2000/svg";
const LEFT = 46;
const RIGHT = 80; // room for the marks of takes
const STEPS = { 10: 5, 25: 10, 50: 25, 100: 50, 200: 100 };
const EDGE = 14; // above and below the plot, for marks that lie beyond it

function make(name, attributes, parent) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent?.append(made);
  return made;
}

export class TraceDrawing {
  /** @param {number} lengthS seconds from left to right */
  constructor(lengthS) {
    this.lengthS = lengthS;
    this.svg = make("svg", { class: "live-trace", "aria-hidden": "true" });
    this._scale = make("g", { class: "live-scale" }, this.svg);
    this._plot = make("svg", { class: "live-plot" }, this.svg); // an svg of its own clips
    this._halo = make("path", { class: "live-halo" }, this._plot); // parts the line from the target's
    this._line = make("path", { class: "live-line" }, this._plot);
    this._beyond = make("path", { class: "live-beyond" }, this.svg);
    this._marks = make("g", { class: "live-marks" }, this.svg);
    this._pen = make("g", { class: "live-pen" }, this.svg);
    this.resize(360, 240);
  }

  /** @param {number} width @param {number} height in CSS pixels */
  resize(width, height) {
    this._right = width - RIGHT;
    this._bottom = height - EDGE;
    this._middle = height / 2;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    for (const [key, value] of Object.entries({
      x: LEFT, y: EDGE, width: Math.max(1, this._right - LEFT), height: Math.max(1, this._bottom - EDGE),
      viewBox: `${LEFT} ${EDGE} ${Math.max(1, this._right - LEFT)} ${Math.max(1, this._bottom - EDGE)}`,
    })) this._plot.setAttribute(key, value);
  }

  _y(cents) {
    return this._middle - (cents / this._range) * (this._middle - EDGE);
  }

  _place(cents) {
    return Math.min(this._bottom, Math.max(EDGE, this._y(cents)));
  }

  /** @param {{rangeCents: number, toleranceCents: number}} axis */
  drawScale({ rangeCents, toleranceCents }) {
    this._range = rangeCents;
    this._scale.replaceChildren();
    const width = Math.max(1, this._right - LEFT);
    const reach = Math.min(toleranceCents, rangeCents);
    const [top, bottom] = [this._y(reach), this._y(-reach)];
    make("rect", { class: "live-band", x: LEFT, y: top, width, height: bottom - top }, this._scale);
    for (const y of [top, bottom]) this._rule("live-band-edge", y);
    const step = STEPS[rangeCents] ?? rangeCents;
    for (let cents = step; cents <= rangeCents; cents += step) for (const sign of [1, -1]) this._tick(sign * cents);
    this._rule("live-target", this._middle);
    this._label(LEFT - 8, this._middle, "0", "live-zero");
  }

  _rule(name, y) {
    make("line", { class: name, x1: LEFT, x2: this._right, y1: y, y2: y }, this._scale);
  }

  _tick(cents) {
    this._rule("live-grid", this._y(cents));
    this._label(LEFT - 8, this._y(cents), formatCents(cents));
  }

  _label(x, y, words, name = "") {
    make("text", { x, y: y + 5, class: name, "text-anchor": "end" }, this._scale).textContent = words;
  }

  /**
   * @param {import("./trace-paper.js").TracePaper} paper
   * @param {(hz: number) => number} toCents from the target
   * @param {number | null} penCents what the pen says; null: nothing sounds
   */
  drawTrace(paper, toCents, penCents) {
    const perS = (this._right - LEFT) / this.lengthS;
    let [line, beyond] = ["", ""];
    for (const run of paper.runs) {
      let [pen, edge] = ["M", "M"];
      for (const { atS, hz } of run) {
        const cents = toCents(hz);
        const x = (this._right - (paper.nowS - atS) * perS).toFixed(1);
        line += `${pen}${x} ${Math.min(2e4, Math.max(-2e4, this._y(cents))).toFixed(1)}`;
        pen = "L";
        if (Math.abs(cents) <= this._range || x < LEFT) edge = "M";
        else {
          beyond += `${edge}${x} ${this._place(cents)}`;
          edge = "L";
        }
      }
      if (run.length === 1) line += "h.1";
    }
    for (const path of [this._halo, this._line]) path.setAttribute("d", line);
    this._beyond.setAttribute("d", beyond);
    this._drawPen(penCents);
  }

  _drawPen(cents) {
    this._pen.replaceChildren();
    if (cents === null) return;
    if (Math.abs(cents) <= this._range) {
      make("circle", { cx: this._right, cy: this._y(cents), r: 6 }, this._pen);
      return;
    }
    const [y, out] = [this._place(cents), cents > 0 ? -1 : 1];
    make("path", { d: `M${this._right - 12} ${y - 2 * out}h24l-12 ${14 * out}z` }, this._pen);
    const words = make("text", { x: this._right - 16, y: y - out * 10 + 5, "text-anchor": "end" }, this._pen);
    words.textContent = `${formatCents(cents)} ${out < 0 ? "↑" : "↓"}`;
  }

  /** @param {{offsetCents: number, uncertaintyCents: number | null}[]} takes the newest last */
  drawTakes(takes) {
    this._marks.replaceChildren();
    for (const { offsetCents } of takes.slice(0, -1)) this._drawDiamond(offsetCents, 4, "");
    if (takes.length) this._drawNewest(takes.at(-1));
  }

  _drawDiamond(cents, size, name) {
    const [x, y] = [this._right + 18, this._place(cents)];
    const d = `M${x - size} ${y}l${size} ${-size}l${size} ${size}l${-size} ${size}z`;
    make("path", { class: name, d }, this._marks);
  }

  _drawNewest({ offsetCents, uncertaintyCents }) {
    const isShown = Math.abs(offsetCents) <= this._range;
    if (uncertaintyCents && isShown) {
      const [y1, y2] = [uncertaintyCents, -uncertaintyCents].map((one) => this._place(offsetCents + one));
      make("line", { x1: this._right + 18, x2: this._right + 18, y1, y2 }, this._marks);
    }
    this._drawDiamond(offsetCents, 8, "is-newest");
    const y = Math.min(this._bottom - 14, Math.max(EDGE + 18, this._place(offsetCents)));
    const arrow = isShown ? "" : offsetCents > 0 ? " ↑" : " ↓";
    for (const [row, words] of [`take${arrow}`, formatCents(offsetCents, 1)].entries()) {
      make("text", { x: this._right + 30, y: y - 3 + 17 * row }, this._marks).textContent = words;
    }
  }
}
