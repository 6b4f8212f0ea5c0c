// @ts-check
// Where one is in a list of targets, each with its fingerings. Nothing here knows a page.

/** @typedef {"next-target"|"previous-target"|"next-candidate"|"previous-candidate"} Step */

export class Walk {
  #counts;
  #target;
  #chosen;

  /**
   * @param {number[]} counts how many fingerings each target has, at least one each
   * @param {number} [start] which target comes first
   */
  constructor(counts, start = 0) {
    this.#counts = counts;
    this.#target = Math.min(Math.max(start, 0), counts.length - 1);
    this.#chosen = counts.map(() => 0);
  }

  /** @returns {{target: number, candidate: number}} */
  get place() {
    return { target: this.#target, candidate: this.#chosen[this.#target] };
  }

  /**
   * A target has more fingerings now, the new ones first.
   * @param {number} target
   * @param {number} added
   * @param {boolean} isKept stay at the same fingering, which has another number now
   */
  extend(target, added, isKept) {
    this.#counts[target] += added;
    if (isKept) this.#chosen[target] += added;
  }

  /** @param {Step} step @returns {boolean} whether there is something that way */
  can(step) {
    const { target, candidate } = this.place;
    if (step === "next-target") return target < this.#counts.length - 1;
    if (step === "previous-target") return target > 0;
    if (step === "next-candidate") return candidate < this.#counts[target] - 1;
    return candidate > 0;
  }

  /** Go there, and stay where nothing is that way. @param {Step} step @returns {boolean} */
  go(step) {
    if (!this.can(step)) return false;
    const by = step.startsWith("next") ? 1 : -1;
    if (step.endsWith("target")) this.#target += by;
    else this.#chosen[this.#target] += by;
    return true;
  }
}
