// What the microphone does, in words, and how loud it is. Calm: a warning stays long enough to be read.

const LOWEST_DB = -70;
const WARNING_MS = 3000;
const WORDS = {
  closed: "The microphone is off.",
  opening: "Opening the microphone…",
  idle: "Listening. Nothing is kept here.",
  counting: "Counting in…",
  waiting: "Play when you are ready.",
  sounding: "Recording…",
};
const CLIPPED = "Too loud for the microphone: move it away, or turn it down.";

/** How much of the bar a level fills. @param {number} db @returns {number} from 0 to 100 */
export function share(db) {
  return Math.round(100 * Math.min(1, Math.max(0, 1 - db / LOWEST_DB)));
}

export class Meter {
  /** @param {Element} stand */
  constructor(stand) {
    this._bar = stand.querySelector("[data-level]");
    this._words = stand.querySelector("[data-level-words]");
    this._state = "closed";
    this._clippedMs = -Infinity;
  }

  /** @param {string} state of the recorder */
  showState(state) {
    this._state = state;
    if (state === "closed") {
      this._clippedMs = -Infinity;
      this._bar.setAttribute("width", "0");
    }
    this._write();
  }

  /** @param {{peakDb: number, isClipped: boolean}} level */
  showLevel({ peakDb, isClipped }) {
    if (isClipped) this._clippedMs = performance.now();
    this._bar.setAttribute("width", String(share(peakDb)));
    this._write();
  }

  _write() {
    const isClipped = performance.now() - this._clippedMs < WARNING_MS;
    const words = isClipped ? CLIPPED : WORDS[this._state] ?? "";
    if (this._words.textContent !== words) this._words.textContent = words;
  }
}
