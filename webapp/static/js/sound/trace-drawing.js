// The trace as SVG: cents from the target upwards, time to the right, the target a bold line in the
// middle, the tolerance a band about it. Colours are the page's own, by class, so that it follows
// light and dark by itself. Measured beside a canvas: a third of the work on the page's thread.

import { formatCents } from "./pitch-words.js";

const SVG = "http://www.w3.org/2000/svg";
const LEFT = 46;
const RIGHT = 58;
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
    for (const share of [1, 0.5, -0.5, -1]) this._tick(share * rangeCents);
    this._rule("live-target", this._middle);
    this._label(LEFT - 8, this._middle, "0", "live-zero");
  }

  _rule(name, y) {
    make("line", { class: name, x1: LEFT, x2: this._right, y1: y, y2: y }, this._scale);
  }

  _tick(cents) {
    this._rule("live-grid", this._y(cents));
    this._label(LEFT - 8, this._y(cents), formatCents(cents, Number.isInteger(cents) ? 0 : 1));
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
    this._line.setAttribute("d", line);
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
    for (const [at, { offsetCents, uncertaintyCents }] of takes.entries()) {
      const isNewest = at === takes.length - 1;
      const [x, y] = [this._right + 18, this._place(offsetCents)];
      const size = isNewest ? 7 : 4;
      make("path", { class: isNewest ? "is-newest" : "", d: `M${x - size} ${y}l${size} ${-size}l${size} ${size}l${-size} ${size}z` }, this._marks);
      if (!isNewest) continue;
      if (uncertaintyCents && Math.abs(offsetCents) <= this._range) {
        const [from, to] = [offsetCents + uncertaintyCents, offsetCents - uncertaintyCents].map((one) => this._place(one));
        make("line", { x1: x, x2: x, y1: from, y2: to }, this._marks);
      }
      this._labelTake(x, y, offsetCents);
    }
  }

  _labelTake(x, y, cents) {
    const above = y > this._middle;
    const arrow = Math.abs(cents) <= this._range ? "" : cents > 0 ? " ↑" : " ↓";
    for (const [row, words] of ["take", `${formatCents(cents, 1)}${arrow}`].entries()) {
      const place = above ? y - 30 + 17 * row : y + 24 + 17 * row;
      make("text", { x: x - 12, y: place }, this._marks).textContent = words;
    }
  }
}
