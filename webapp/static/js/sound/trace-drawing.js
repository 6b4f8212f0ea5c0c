// @ts-check
// The trace as SVG: cents from the target upwards, time to the right, the target a bold line in the
// middle, the tolerance a band about it. Colours are the page's own, by class, so that it follows
// light and dark by itself. Measured beside a canvas: a third of the work on the page's thread.

import { makeSvg, setAttributes } from "../dom.js";
import { formatCents, OTHER_NOTE_CENTS } from "./pitch-words.js";

const LEFT = 46;
const RIGHT = 80; // room for the marks of takes
/** @type {Record<number, number>} cents from line to line, by the range */
const STEPS = { 10: 5, 25: 10, 50: 25, 100: 50, 200: 100 };
const EDGE = 14; // above and below the plot, for marks that lie beyond it

/** @typedef {{offsetCents: number, uncertaintyCents: number | null}} TakeMark */

export class TraceDrawing {
  #scale;
  #plot;
  #halo;
  #line;
  #beyond;
  #marks;
  #pen;
  #veil;
  #right = 0;
  #bottom = 0;
  #middle = 0;
  #range = 1;

  /** @param {number} lengthS seconds from left to right */
  constructor(lengthS) {
    this.lengthS = lengthS;
    this.svg = makeSvg("svg", { class: "live-trace", "aria-hidden": "true" });
    this.#scale = makeSvg("g", { class: "live-scale" }, this.svg);
    this.#plot = makeSvg("svg", { class: "live-plot" }, this.svg); // an svg of its own clips
    this.#halo = makeSvg("path", { class: "live-halo" }, this.#plot); // parts the line from the target's
    this.#line = makeSvg("path", { class: "live-line" }, this.#plot);
    this.#beyond = makeSvg("path", { class: "live-beyond" }, this.svg);
    this.#marks = makeSvg("g", { class: "live-marks" }, this.svg);
    this.#pen = makeSvg("g", { class: "live-pen" }, this.svg);
    this.#veil = makeSvg("text", { class: "live-veil", "text-anchor": "middle" }, this.svg);
    this.resize(360, 240);
  }

  /** @param {number} width @param {number} height in CSS pixels */
  resize(width, height) {
    this.#right = width - RIGHT;
    this.#bottom = height - EDGE;
    this.#middle = height / 2;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    setAttributes(this.#plot, {
      x: LEFT, y: EDGE, width: Math.max(1, this.#right - LEFT), height: Math.max(1, this.#bottom - EDGE),
      viewBox: `${LEFT} ${EDGE} ${Math.max(1, this.#right - LEFT)} ${Math.max(1, this.#bottom - EDGE)}`,
    });
  }

  /** @param {number} cents */
  #y(cents) {
    return this.#middle - (cents / this.#range) * (this.#middle - EDGE);
  }

  /** @param {number} cents within the plot, at its edge where they lie beyond */
  #place(cents) {
    return Math.min(this.#bottom, Math.max(EDGE, this.#y(cents)));
  }

  /** @param {{rangeCents: number, toleranceCents: number}} axis */
  drawScale({ rangeCents, toleranceCents }) {
    this.#range = rangeCents;
    this.#scale.replaceChildren();
    const width = Math.max(1, this.#right - LEFT);
    const reach = Math.min(toleranceCents, rangeCents);
    const [top, bottom] = [this.#y(reach), this.#y(-reach)];
    makeSvg("rect", { class: "live-band", x: LEFT, y: top, width, height: bottom - top }, this.#scale);
    for (const y of [top, bottom]) this.#rule("live-band-edge", y);
    const step = STEPS[rangeCents] ?? rangeCents;
    for (let cents = step; cents <= rangeCents; cents += step) for (const sign of [1, -1]) this.#tick(sign * cents);
    this.#rule("live-target", this.#middle);
    this.#label(LEFT - 8, this.#middle, "0", "live-zero");
  }

  /** @param {string} name @param {number} y */
  #rule(name, y) {
    makeSvg("line", { class: name, x1: LEFT, x2: this.#right, y1: y, y2: y }, this.#scale);
  }

  /** @param {number} cents */
  #tick(cents) {
    this.#rule("live-grid", this.#y(cents));
    this.#label(LEFT - 8, this.#y(cents), formatCents(cents));
  }

  /** @param {number} x @param {number} y @param {string} words @param {string} [name] */
  #label(x, y, words, name = "") {
    makeSvg("text", { x, y: y + 5, class: name, "text-anchor": "end" }, this.#scale).textContent = words;
  }

  /**
   * @param {import("./trace-paper.js").TracePaper} paper
   * @param {(hz: number) => number} toCents from the target
   * @param {number | null} penCents what the pen says; null: nothing sounds
   */
  drawTrace(paper, toCents, penCents) {
    this.#veil.textContent = "";
    const perS = (this.#right - LEFT) / this.lengthS;
    let [line, beyond] = ["", ""];
    for (const run of paper.runs) {
      let [pen, edge] = ["M", "M"];
      for (const { atS, hz } of run) {
        const cents = toCents(hz);
        const x = (this.#right - (paper.nowS - atS) * perS).toFixed(1);
        line += `${pen}${x} ${Math.min(2e4, Math.max(-2e4, this.#y(cents))).toFixed(1)}`;
        pen = "L";
        if (Math.abs(cents) <= this.#range || Number(x) < LEFT) edge = "M";
        else {
          beyond += `${edge}${x} ${this.#place(cents)}`;
          edge = "L";
        }
      }
      if (run.length === 1) line += "h.1";
    }
    for (const path of [this.#halo, this.#line]) path.setAttribute("d", line);
    this.#beyond.setAttribute("d", beyond);
    this.#drawPen(penCents);
  }

  /** Draw nothing of what sounds, and say why. @param {string} words */
  hideTrace(words) {
    for (const path of [this.#halo, this.#line, this.#beyond]) path.setAttribute("d", "");
    this.#drawPen(null);
    setAttributes(this.#veil, { x: (LEFT + this.#right) / 2, y: (EDGE + this.#middle) / 2 + 5 });
    this.#veil.textContent = words;
  }

  /** @param {number | null} cents */
  #drawPen(cents) {
    this.#pen.replaceChildren();
    if (cents === null) return;
    if (Math.abs(cents) <= this.#range) {
      makeSvg("circle", { cx: this.#right, cy: this.#y(cents), r: 6 }, this.#pen);
      return;
    }
    const [y, out] = [this.#place(cents), cents > 0 ? -1 : 1];
    makeSvg("path", { d: `M${this.#right - 12} ${y - 2 * out}h24l-12 ${14 * out}z` }, this.#pen);
    if (Math.abs(cents) > OTHER_NOTE_CENTS) return;
    const words = makeSvg("text", { x: this.#right - 16, y: y - out * 10 + 5, "text-anchor": "end" }, this.#pen);
    words.textContent = `${formatCents(cents)} ${out < 0 ? "↑" : "↓"}`;
  }

  /** @param {TakeMark[]} takes the newest last */
  drawTakes(takes) {
    this.#marks.replaceChildren();
    for (const { offsetCents } of takes.slice(0, -1)) this.#drawDiamond(offsetCents, 4, "");
    for (const take of takes.slice(-1)) this.#drawNewest(take);
  }

  /** @param {number} cents @param {number} size @param {string} name */
  #drawDiamond(cents, size, name) {
    const [x, y] = [this.#right + 18, this.#place(cents)];
    const d = `M${x - size} ${y}l${size} ${-size}l${size} ${size}l${-size} ${size}z`;
    makeSvg("path", { class: name, d }, this.#marks);
  }

  /** @param {TakeMark} take */
  #drawNewest({ offsetCents, uncertaintyCents }) {
    const isShown = Math.abs(offsetCents) <= this.#range;
    if (uncertaintyCents && isShown) {
      const [y1, y2] = [uncertaintyCents, -uncertaintyCents].map((one) => this.#place(offsetCents + one));
      makeSvg("line", { x1: this.#right + 18, x2: this.#right + 18, y1, y2 }, this.#marks);
    }
    this.#drawDiamond(offsetCents, 8, "is-newest");
    const y = Math.min(this.#bottom - 14, Math.max(EDGE + 18, this.#place(offsetCents)));
    const arrow = isShown ? "" : offsetCents > 0 ? " ↑" : " ↓";
    for (const [row, words] of [`take${arrow}`, formatCents(offsetCents, 1)].entries()) {
      makeSvg("text", { x: this.#right + 30, y: y - 3 + 17 * row }, this.#marks).textContent = words;
    }
  }
}
