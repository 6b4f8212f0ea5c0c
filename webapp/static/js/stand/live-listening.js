// @ts-check
// The microphone of the stand: one recorder that cuts notes into takes, one live pitch beside it.

import { TypedEventTarget } from "../typed-event-target.js";
import { Awake } from "../sound/awake.js";
import { LivePitch } from "../sound/live-pitch.js";
import { Recorder } from "../sound/recorder.js";

const RELAYED = /** @type {const} */ (["state", "count", "level", "note", "dropped", "trouble"]);

/** @typedef {import("../sound/recorder.js").RecorderDetails} RecorderDetails */
/** @typedef {import("../sound/recorder.js").Destination} Destination */
/** @typedef {import("../sound/microphone.js").Microphone} Microphone */

/**
 * What the recorder dispatches, a pitch, and the microphone when it is open.
 * @typedef {RecorderDetails & {reading: import("../sound/tracker.js").Reading, open: Microphone}} Details
 */

/**
 * Listens and records.
 * @extends {TypedEventTarget<Details>}
 */
export class LiveListening extends TypedEventTarget {
  #range;
  #recorder;
  #awake = new Awake();
  /** @type {LivePitch | null} */
  #live = null;
  /** @type {(() => void) | null} */
  #stopHearing = null;
  /** @type {Destination | null} */
  #destination = null;
  #isArmed = false;
  #countInS = 0;

  /**
   * @param {{outbox: import("../sound/outbox.js").Outbox,
   *   range: import("../sound/lines.js").Range}} options
   */
  constructor({ outbox, range }) {
    super();
    this.#range = range;
    this.#recorder = new Recorder({ outbox });
    for (const name of RELAYED) this.#relay(name);
    this.#recorder.on("state", (state) => {
      if (state === "closed" && this.isOn) this.#end();
    });
  }

  /**
   * @template {typeof RELAYED[number]} Name
   * @param {Name} name
   */
  #relay(name) {
    this.#recorder.on(name, (detail) => this.emit(name, /** @type {Details[Name]} */ (detail)));
  }

  /** Whether the microphone is open. */
  get isOn() {
    return Boolean(this.#live);
  }

  /**
   * Open the microphone, and let takes go to where they are aimed; "trouble" says why it can't be.
   * @param {string} [deviceId]
   * @param {number} [countInS] nothing is recorded for so long
   */
  async start(deviceId, countInS = 0) {
    this.#end();
    this.#countInS = countInS;
    if (!(await this.#recorder.open(deviceId))) return;
    const { microphone } = this.#recorder;
    if (microphone === null) return;
    const live = new LivePitch(microphone.sampleRate, this.#range);
    live.onReading = (reading) => this.emit("reading", reading);
    this.#live = live;
    this.#stopHearing = microphone.listen((chunk, firstFrame) => live.push(chunk, firstFrame));
    this.emit("open", microphone);
    this.#awake.hold();
    if (this.#destination) this.aim(this.#destination);
  }

  /** Close the microphone; what was cut is kept. */
  stop() {
    this.#end();
    this.#recorder.close();
  }

  /** Say where takes go from now on. @param {Destination} destination */
  aim(destination) {
    this.#destination = destination;
    if (!this.isOn) return;
    if (this.#isArmed) this.#recorder.redirect(destination);
    else this.#recorder.arm({ ...destination, countInS: this.#countInS });
    this.#isArmed = true;
    this.#countInS = 0; // once, when the player takes up the instrument
  }

  /** Say whether the pitch is seen while it sounds. @param {boolean} isWatching */
  watch(isWatching) {
    this.#recorder.watch(isWatching);
  }

  #end() {
    this.#stopHearing?.();
    this.#live?.close();
    this.#live = null;
    this.#isArmed = false;
    this.#awake.release();
  }
}
