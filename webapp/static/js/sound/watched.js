// @ts-check
// Takes that were played with an eye on the live pitch: which they are, and the field that says so.
// Who watches a trace closes the gap with the lip, so such a take proves the lip and not the keys.

/** What is sent with such a take; one without the field was played without watching. */
export const WATCHED = { is_watched: "1" };

/** @param {{fields?: Record<string, string>}} take that was cut, or that waits */
export function isWatched({ fields }) {
  return fields?.is_watched === WATCHED.is_watched;
}

/** When the player watched, in frames of what the microphone hears. */
export class WatchedTime {
  #isOn = false;
  #heardFrame = 0;
  #lastFrame = -Infinity; // that was watched

  /** The microphone is opened, and its frames are counted anew. */
  begin() {
    this.#heardFrame = 0;
    this.#lastFrame = -Infinity;
  }

  /** @param {number} frame up to which was heard */
  hear(frame) {
    this.#heardFrame = frame;
  }

  /** @param {boolean} isOn the pitch is seen while it sounds, from now on */
  watch(isOn) {
    if (this.#isOn && !isOn) this.#lastFrame = this.#heardFrame;
    this.#isOn = isOn;
  }

  /** Whether any of a note was watched that began there and has just ended. @param {number} onsetFrame */
  covers(onsetFrame) {
    return this.#isOn || this.#lastFrame > onsetFrame;
  }
}
