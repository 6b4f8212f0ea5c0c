// The microphone of the stand: one recorder that cuts notes into takes, one live pitch beside it.

import { Awake } from "../sound/awake.js";
import { LivePitch } from "../sound/live-pitch.js";
import { Recorder } from "../sound/recorder.js";

/**
 * @typedef {{url: string, fields: Record<string, string>, label: string}} Aim where takes go
 * Events: those of the recorder ("state", "count", "level", "note", "dropped", "trouble"), and "reading"
 * (a pitch) and "open" (the microphone).
 */
export class LiveListening extends EventTarget {
  /** @param {{outbox: object, range: {lowHz: number, highHz: number}}} options */
  constructor({ outbox, range }) {
    super();
    this._range = range;
    this._recorder = new Recorder({ outbox });
    /** @type {Aim | null} */
    this._aim = null;
    this._isArmed = false;
    this._countInS = 0;
    this._awake = new Awake();
    for (const name of ["state", "count", "level", "note", "dropped", "trouble"]) {
      this._recorder.addEventListener(name, ({ detail }) => this._tell(name, detail));
    }
    this._recorder.addEventListener("state", ({ detail }) => {
      if (detail === "closed" && this.isOn) this._end();
    });
  }

  /** Whether the microphone is open. */
  get isOn() {
    return Boolean(this._live);
  }

  /**
   * Open the microphone, and let takes go to where they are aimed; "trouble" says why it can't be.
   * @param {string} [deviceId]
   * @param {number} [countInS] nothing is recorded for so long
   */
  async start(deviceId, countInS = 0) {
    this._end();
    this._countInS = countInS;
    if (!(await this._recorder.open(deviceId))) return;
    const { microphone } = this._recorder;
    this._live = new LivePitch(microphone.sampleRate, this._range);
    this._live.onReading = (reading) => this._tell("reading", reading);
    this._stopHearing = microphone.listen((chunk, firstFrame) => this._live?.push(chunk, firstFrame));
    this._tell("open", microphone);
    this._awake.hold();
    this.aim(this._aim);
  }

  /** Close the microphone; what was cut is kept. */
  stop() {
    this._end();
    this._recorder.close();
  }

  /** Say where takes go from now on; null: nowhere, and only the display listens. @param {Aim | null} aim */
  aim(aim) {
    this._aim = aim;
    if (!this.isOn) return;
    if (aim === null) this._recorder.disarm();
    else if (this._isArmed) this._recorder.retarget(aim);
    else this._recorder.arm({ ...aim, countInS: this._countInS });
    this._isArmed = aim !== null;
    this._countInS = 0; // once, when the player takes up the instrument
  }

  _end() {
    this._stopHearing?.();
    this._live?.close();
    this._live = null;
    this._isArmed = false;
    this._awake.release();
  }

  _tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
