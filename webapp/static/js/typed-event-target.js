// @ts-check
// An event target whose events each have a name and a detail of a known type.

/**
 * Dispatches custom events and lets others listen to them.
 * @template {object} Details the type of the detail for each name
 */
export class TypedEventTarget extends EventTarget {
  /**
   * Listen to one event, by its detail.
   * @template {keyof Details & string} Name
   * @param {Name} name
   * @param {(detail: Details[Name]) => void} act
   */
  on(name, act) {
    this.addEventListener(name, (event) => act(/** @type {CustomEvent<Details[Name]>} */ (event).detail));
  }

  /**
   * Dispatch an event.
   * @template {keyof Details & string} Name
   * @param {Name} name
   * @param {Details[Name]} detail
   */
  emit(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
