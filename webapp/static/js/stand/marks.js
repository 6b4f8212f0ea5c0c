// The measured takes of each target on the live display, there again when the target is.

export class Marks {
  /** @param {{clear: () => void, markTake: (take: object) => void}} view */
  constructor(view) {
    this._view = view;
    this._marks = new Map();
    this._shown = null;
  }

  /** Show the marks of a target; the view was cleared when the target changed. @param {number} target */
  show(target) {
    if (target === this._shown) return;
    this._shown = target;
    for (const { take } of this._marks.get(target) ?? []) this._view.markTake(take);
  }

  /** @param {number} target @param {string | number} id @param {{offsetCents: number, uncertaintyCents: number}} take */
  add(target, id, take) {
    const marks = this._marks.get(target) ?? [];
    this._marks.set(target, [...marks.filter((one) => one.id !== id), { id, take }]);
    if (target === this._shown) this._view.markTake(take);
  }
}
