// @ts-check
// An event target whose events each have a name and a detail of a known type.

/**
 * Announces what happens to it.
 * @template {object} Details the type of the detail for each name
 */
export class Announcer extends EventTarget {
  /**
   * Act whenever something is announced.
   * @template {keyof Details & string} Name
   * @param {Name} name
   * @param {(detail: Details[Name]) => void} act
   */
  on(name, act) {
    this.addEventListener(name, (event) => act(/** @type {CustomEvent<Details[Name]>} */ (event).detail));
  }

  /**
   * Announce something; where nothing is to be said of it the detail is null.
   * @template {keyof Details & string} Name
   * @param {Name} name
   * @param {Details[Name]} detail
   */
  announce(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
