// What stands round the trace: the number and its words, and the buttons.

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

function add(parent, name, className, words = "") {
  const made = document.createElement(name);
  made.className = className;
  made.textContent = words;
  parent.append(made);
  return made;
}

function addButton(parent, words, act) {
  const made = add(parent, "button", "", words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

export class PitchPanel {
  /**
   * @param {HTMLElement} element
   * @param {SVGElement} picture
   * @param {{onRange: (cents: number) => void, onFreeze: () => void, onSay: () => string}} acts
   */
  constructor(element, picture, acts) {
    this._element = element;
    element.classList.add("live");
    const body = add(element, "div", "live-body");
    this._buildWords(body);
    const frame = add(body, "div", "live-picture");
    frame.append(picture);
    this._legend = add(frame, "p", "live-legend");
    this._buildControls(body, acts);
    this._said = add(element, "p", "live-said");
    this._said.setAttribute("role", "status");
  }

  _buildWords(body) {
    const now = add(body, "div", "live-now");
    now.setAttribute("aria-live", "off"); // a number that changes all the time is read when asked for
    this._state = add(now, "p", "live-state");
    const number = add(now, "p", "live-number");
    this._cents = add(number, "span", "live-cents");
    number.append(" ");
    this._side = add(number, "span", "live-side");
    this._within = add(now, "p", "live-within");
    const sounds = add(now, "p", "live-name");
    this._sounds = add(sounds, "span", "live-sounds");
    sounds.append(" ");
    this._name = add(sounds, "span", "");
    this._steady = add(now, "p", "live-steady");
  }

  _buildControls(body, { onRange, onFreeze, onSay }) {
    const controls = add(body, "div", "live-controls");
    const ranges = add(controls, "div", "live-ranges");
    ranges.setAttribute("role", "group");
    ranges.setAttribute("aria-label", "Cents shown above and below the target");
    this._ranges = RANGES.map((cents) => {
      const button = addButton(ranges, `±${cents}`, () => onRange(cents));
      button.setAttribute("aria-label", `${cents} cents either way`);
      return button;
    });
    this._freeze = addButton(controls, "Hold still", onFreeze);
    addButton(controls, "Say it", () => { this._said.textContent = onSay(); });
  }

  /** @param {number} cents one of RANGES */
  pressRange(cents) {
    for (const [at, button] of this._ranges.entries()) {
      button.setAttribute("aria-pressed", String(RANGES[at] === cents));
    }
  }

  /** @param {boolean} isFrozen */
  pressFreeze(isFrozen) {
    this._freeze.setAttribute("aria-pressed", String(isFrozen));
  }

  /** @param {string} words what line and band are */
  explain(words) {
    this._legend.textContent = words;
  }

  /** What was said last no longer holds. */
  unsay() {
    this._said.textContent = "";
  }

  /** @param {Shown} shown */
  show({ cents, isNow, isWithin, spreadCents, name, decimals, still }) {
    this._element.classList.toggle("is-still", !isNow);
    this._element.classList.toggle("is-within", isWithin);
    this._state.textContent = isNow ? "Now" : still;
    this._cents.textContent = cents === null ? "–" : formatCents(cents, decimals);
    this._side.textContent = cents === null ? "" : nameSide(cents, decimals);
    this._within.textContent = isWithin ? "within your tolerance" : "";
    this._sounds.textContent = name === null ? "" : "Sounds as";
    this._name.textContent = name ?? "";
    this._steady.textContent = spreadCents === null ? "" : describeSteadiness(spreadCents);
  }
}
