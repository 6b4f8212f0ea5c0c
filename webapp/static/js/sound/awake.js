// @ts-check
// Keep the screen on while takes are recorded: both hands are on the instrument.

/** Holds the screen awake between `hold` and `release`, where the browser can. */
export class Awake {
  /** @type {WakeLockSentinel | null} */
  #lock = null;
  #isWanted = false;

  constructor() {
    // The browser lets go of it whenever the page is hidden.
    document.addEventListener("visibilitychange", () => this.#ask());
  }

  hold() {
    this.#isWanted = true;
    this.#ask();
  }

  release() {
    this.#isWanted = false;
    this.#lock?.release();
    this.#lock = null;
  }

  async #ask() {
    if (!this.#isWanted || document.visibilityState !== "visible") return;
    try {
      const lock = (await navigator.wakeLock?.request("screen")) ?? null;
      if (this.#isWanted) this.#lock = lock;
      else lock?.release();
    } catch {
      // a battery that is nearly empty, for one: the screen goes dark as it always does
    }
  }
}
