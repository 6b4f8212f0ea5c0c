// @ts-check
// What stands round the trace: the number and its words, and the buttons.

import { make, makeButton, press } from "../dom.js";
import { writeSaid } from "../notes.js";
import { inWords } from "../said.js";
import { describeSpread, describeSteadiness, formatCents, nameSide, nameSteadiness, YOU_PLAY } from "./pitch-words.js";

export const RANGES = [10, 25, 50, 100, 200];

/**
 * @typedef {object} Shown what the display says
 * @property {number | null} cents from the target; null: nothing to say
 * @property {import("../said.js").Said} label the target; "" where there is none
 * @property {boolean} isNow it sounds now
 * @property {boolean} isHidden it is being measured: nothing of its pitch is told before it ends
 * @property {boolean} isWithin it lies within the player's tolerance
 * @property {number | null} spreadCents
 * @property {import("../said.js").Said | null} name what sounds
 * @property {import("../said.js").Said | null} other the note that sounds, where it is not the target
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
  #frame;
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
    this.#frame = add(body, "div", "live-picture");
    this.#frame.append(picture);
    this.#legend = add(this.#frame, "p", "live-legend");
    const controls = add(body, "div", "live-controls");
    this.#ranges = buildRanges(controls, acts.onRange);
    this.#freeze = makeButton("Freeze", acts.onFreeze);
    const sayIt = makeButton("Speak", () => {
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

  /** @param {import("../said.js").Said} said what line and band are */
  explain(said) {
    writeSaid(this.#legend, said);
  }

  /** Put something over the picture. @param {HTMLElement} element */
  place(element) {
    this.#frame.prepend(element);
  }

  /** What was said last no longer holds. */
  unsay() {
    this.#said.textContent = "";
  }

  /** @param {Shown} shown */
  show(shown) {
    const { cents, isNow, isHidden, isWithin, spreadCents, name, decimals, still, other } = shown;
    this.#element.classList.toggle("is-still", !isNow);
    this.#element.classList.toggle("is-within", isWithin);
    const instead = sayInstead(shown);
    const isNumber = instead.length === 0 && cents !== null;
    const isElsewhere = other !== null && inWords(shown.label) !== "" && !isHidden;
    this.#element.classList.toggle("is-blank", !isHidden && !isNumber && !instead.length);
    this.#element.classList.toggle("is-elsewhere", isElsewhere);
    const describe = isHidden ? describeSpread : describeSteadiness; // the word stands above it
    const words = this.#words;
    words.state.textContent = isHidden ? "Measuring" : isNow ? "Now" : still;
    words.instead.replaceChildren(...instead);
    words.cents.textContent = isNumber ? formatCents(cents, decimals) : instead.length ? "" : "–";
    words.side.textContent = isNumber ? nameSide(cents, decimals) : "";
    words.within.textContent = isElsewhere ? "not counted" : isWithin ? "in tune" : "";
    words.sounds.textContent = name === null ? "" : "Sounds as";
    writeSaid(words.name, name ?? "");
    words.steady.textContent = spreadCents === null ? "" : describe(spreadCents);
  }

  /** Whether there is a target, so that a trace has a zero. @param {boolean} hasTarget */
  showPicture(hasTarget) {
    this.#element.classList.toggle("is-free", !hasTarget);
  }
}

/**
 * What stands in the place of the number, or nothing.
 * @param {Shown} shown
 * @returns {(string | HTMLElement)[]}
 */
function sayInstead({ isHidden, spreadCents, other, label }) {
  if (isHidden) return [spreadCents === null ? "hold on" : nameSteadiness(spreadCents)];
  if (other === null) return [];
  const note = make("span");
  writeSaid(note, other);
  return inWords(label) ? [make("span", "live-you", YOU_PLAY), " ", note] : [note];
}

/**
 * @param {Element} body
 * @returns {Record<"state"|"cents"|"side"|"instead"|"within"|"sounds"|"name"|"steady", HTMLElement>}
 */
function buildWords(body) {
  const now = add(body, "div", "live-now");
  now.setAttribute("aria-live", "off"); // a number that changes all the time is read when asked for
  const state = add(now, "p", "live-state");
  const number = add(now, "p", "live-number");
  const cents = add(number, "span", "live-cents");
  number.append(" ");
  const side = add(number, "span", "live-side");
  const instead = add(number, "span", "live-instead");
  const within = add(now, "p", "live-within");
  const line = add(now, "p", "live-name");
  const sounds = add(line, "span", "live-sounds");
  line.append(" ");
  const name = add(line, "span", "");
  const steady = add(now, "p", "live-steady");
  return { state, cents, side, instead, within, sounds, name, steady };
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
