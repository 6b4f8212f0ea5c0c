// @ts-check
// The measured takes of each target on the live display, there again when the target is.

/** @typedef {import("../sound/trace-drawing.js").TakeMark} TakeMark */

export class Marks {
  #view;
  /** @type {Map<number, {id: number, take: TakeMark}[]>} by the target */
  #marks = new Map();
  /** @type {number | null} */
  #shown = null;

  /** @param {{markTake: (take: TakeMark) => void, markTakes: (takes: TakeMark[]) => void}} view */
  constructor(view) {
    this.#view = view;
  }

  /** Show the marks of a target; the view was cleared when the target changed. @param {number} target */
  show(target) {
    if (target === this.#shown) return;
    this.#shown = target;
    for (const { take } of this.#marks.get(target) ?? []) this.#view.markTake(take);
  }

  /** @param {number} target @param {number} id @param {TakeMark} take */
  add(target, id, take) {
    const marks = this.#marks.get(target) ?? [];
    this.#marks.set(target, [...marks.filter((one) => one.id !== id), { id, take }]);
    if (target === this.#shown) this.#view.markTake(take);
  }

  /** The mark of a take that counts no more. @param {number} target @param {number} id */
  remove(target, id) {
    const marks = this.#marks.get(target) ?? [];
    const left = marks.filter((one) => one.id !== id);
    if (left.length === marks.length) return;
    this.#marks.set(target, left);
    if (target === this.#shown) this.#view.markTakes(left.map(({ take }) => take));
  }
}
