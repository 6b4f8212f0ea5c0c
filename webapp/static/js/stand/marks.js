// @ts-check
// The measured takes of each target on the live display, there again when the target is. They stand
// in the order they were played, whichever of them the notebook answered first.

/** @template Take what the display marks */
export class Marks {
  #view;
  /** @type {Map<number, {id: number, take: Take}[]>} by the target */
  #marks = new Map();
  /** @type {number | null} */
  #shown = null;

  /** @param {{markTakes: (takes: Take[]) => void}} view */
  constructor(view) {
    this.#view = view;
  }

  /** Show the marks of a target. @param {number} target */
  show(target) {
    if (target === this.#shown) return;
    this.#shown = target;
    this.#draw(target);
  }

  /** Mark a take, or say anew what it shows: it keeps its place. @param {number} target @param {number} id @param {Take} take */
  add(target, id, take) {
    const marks = this.#marks.get(target) ?? [];
    const isThere = marks.some((one) => one.id === id);
    const changed = marks.map((one) => (one.id === id ? { id, take } : one));
    this.#marks.set(target, isThere ? changed : [...marks, { id, take }].sort((one, other) => one.id - other.id));
    this.#draw(target);
  }

  /** The mark of a take that counts no more. @param {number} target @param {number} id */
  remove(target, id) {
    const marks = this.#marks.get(target) ?? [];
    const left = marks.filter((one) => one.id !== id);
    if (left.length === marks.length) return;
    this.#marks.set(target, left);
    this.#draw(target);
  }

  /** @param {number} target */
  #draw(target) {
    if (target !== this.#shown) return;
    this.#view.markTakes((this.#marks.get(target) ?? []).map(({ take }) => take));
  }
}
