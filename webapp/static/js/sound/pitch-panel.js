// @ts-check
// What stands round the trace: the number and its words, and the buttons.

import { make, makeButton, press } from "../dom.js";
import { describeSteadiness, formatCents, nameSide } from "./pitch-words.js";

export const RANGES = [10, 25, 50, 100, 200];

/**
 * @typedef {object} Shown what the display says
 * @property {number | null} cents from the target; null: nothing to say
 * @property {string} label the target
 * @property {boolean} isNow it sounds now
 * @property {boolean} isWithin it lies within the player's tolerance
 * @property {number | null} spreadCents
 * @property {string | null} name what sounds
 * @property {number} decimals
 * @property {string} still what to say where nothing sounds
 */

/**
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Element} parent
 * @param {Name} name
 * @param {string} className
 */
function add(parent, name, className) {
  const made = make(name, className);
  parent.append(made);
  return made;
}

export class PitchPanel {
  #element;
  #legend;
  #said;
  #words;
  #ranges;
  #freeze;

  /**
   * @param {HTMLElement} element
   * @param {SVGElement} picture
   * @param {{onRange: (cents: number) => void, onFreeze: () => void, onSay: () => string}} acts
   */
  constructor(element, picture, acts) {
    this.#element = element;
    element.classList.add("live");
    const body = add(element, "div", "live-body");
    this.#words = buildWords(body);
    const frame = add(body, "div", "live-picture");
    frame.append(picture);
    this.#legend = add(frame, "p", "live-legend");
    const controls = add(body, "div", "live-controls");
    this.#ranges = buildRanges(controls, acts.onRange);
    this.#freeze = makeButton("Hold still", acts.onFreeze);
    const sayIt = makeButton("Say it", () => {
      this.#said.textContent = acts.onSay();
    });
    controls.append(this.#freeze, sayIt);
    this.#said = add(element, "p", "live-said");
    this.#said.setAttribute("role", "status");
  }

  /** @param {number} cents one of RANGES */
  pressRange(cents) {
    press(this.#ranges.values(), (button) => button === this.#ranges.get(cents));
  }

  /** @param {boolean} isFrozen */
  pressFreeze(isFrozen) {
    press([this.#freeze], () => isFrozen);
  }

  /** @param {string} words what line and band are */
  explain(words) {
    this.#legend.textContent = words;
  }

  /** What was said last no longer holds. */
  unsay() {
    this.#said.textContent = "";
  }

  /** @param {Shown} shown */
  show({ cents, isNow, isWithin, spreadCents, name, decimals, still }) {
    this.#element.classList.toggle("is-still", !isNow);
    this.#element.classList.toggle("is-within", isWithin);
    const words = this.#words;
    words.state.textContent = isNow ? "Now" : still;
    words.cents.textContent = cents === null ? "–" : formatCents(cents, decimals);
    words.side.textContent = cents === null ? "" : nameSide(cents, decimals);
    words.within.textContent = isWithin ? "within your tolerance" : "";
    words.sounds.textContent = name === null ? "" : "Sounds as";
    words.name.textContent = name ?? "";
    words.steady.textContent = spreadCents === null ? "" : describeSteadiness(spreadCents);
  }
}

/** @param {Element} body @returns {Record<"state"|"cents"|"side"|"within"|"sounds"|"name"|"steady", HTMLElement>} */
function buildWords(body) {
  const now = add(body, "div", "live-now");
  now.setAttribute("aria-live", "off"); // a number that changes all the time is read when asked for
  const state = add(now, "p", "live-state");
  const number = add(now, "p", "live-number");
  const cents = add(number, "span", "live-cents");
  number.append(" ");
  const side = add(number, "span", "live-side");
  const within = add(now, "p", "live-within");
  const line = add(now, "p", "live-name");
  const sounds = add(line, "span", "live-sounds");
  line.append(" ");
  const name = add(line, "span", "");
  const steady = add(now, "p", "live-steady");
  return { state, cents, side, within, sounds, name, steady };
}

/**
 * The buttons for the ranges, each by its cents.
 * @param {Element} controls
 * @param {(cents: number) => void} onRange
 */
function buildRanges(controls, onRange) {
  const ranges = add(controls, "div", "live-ranges");
  ranges.setAttribute("role", "group");
  ranges.setAttribute("aria-label", "Cents shown above and below the target");
  const buttons = new Map(RANGES.map((cents) => [cents, makeButton(`±${cents}`, () => onRange(cents))]));
  for (const [cents, button] of buttons) button.setAttribute("aria-label", `${cents} cents either way`);
  ranges.append(...buttons.values());
  return buttons;
}
