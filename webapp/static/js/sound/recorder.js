// Armed once, it records take after take: each note is cut, kept in the outbox and sent by itself.

import { Awake } from "./awake.js";
import { NoteCutter } from "./cutting.js";
import { MicrophoneTrouble, openMicrophone } from "./microphone.js";
import { ToneDetector } from "./tone-detector.js";
import { encodeWav } from "./wav.js";

/**
 * @typedef {object} Target where takes go
 * @property {string} url
 * @property {Object<string, string>} [fields] what is said of each
 * @property {string} [label] a name for the player
 */

/**
 * Records takes. Events, each with its detail:
 * "state" ("closed", "opening", "idle", "counting", "waiting" or "sounding"),
 * "count" (seconds until it listens), "level" ({rmsDb, peakDb, isClipped, floorDb}, 20 a second),
 * "note" (a note was cut and is kept: {id, label, url, samples, sampleRate, durationS, firstFrame,
 * onsetFrame, endFrame, peakDb, isClipped, hasGap, isCutOff}), "dropped" (not kept: "short"
 * or "noise"),
 * "result" ({id, item, result}) and "refused" ({id, item, message}) of its own notes,
 * "trouble" (MicrophoneTrouble).
 */
export class Recorder extends EventTarget {
  #outbox;
  #cutter = null;
  #target = null;
  #noteTarget = null; // a note belongs to what was asked for when it began
  #own = new Set();
  #counting = 0;
  #awake = new Awake();
  state = "closed";
  /** The open microphone, or null. @type {import("./microphone.js").Microphone | null} */
  microphone = null;

  /** @param {{outbox: import("./outbox.js").Outbox}} parts */
  constructor({ outbox }) {
    super();
    this.#outbox = outbox;
    for (const name of ["result", "refused"]) {
      outbox.addEventListener(name, ({ detail }) => {
        if (this.#own.has(detail.id)) this.#tell(name, detail);
      });
    }
  }

  /**
   * Open a microphone, or another one.
   * @param {string} [deviceId]
   * @returns {Promise<boolean>} whether it is open; if not, "trouble" says why
   */
  async open(deviceId) {
    this.close();
    this.#setState("opening");
    this.#outbox.prepare();
    try {
      this.microphone = await openMicrophone({ deviceId });
    } catch (trouble) {
      this.#setState("closed");
      this.#tell("trouble", trouble);
      return false;
    }
    this.#listen(this.microphone);
    this.#setState("idle");
    return true;
  }

  /**
   * Record takes for a target from now on.
   * @param {Target & {countInS?: number}} target it listens after so many seconds
   */
  arm({ countInS = 0, ...target }) {
    if (!this.microphone) return;
    this.disarm();
    this.#target = target;
    this.#awake.hold();
    if (countInS > 0) this.#count(Math.ceil(countInS));
    else this.#begin();
  }

  /** Go on for another target; a note that sounds stays with the one before. @param {Target} target */
  retarget(target) {
    this.#target = target;
  }

  /** Record no more; a note that sounds is kept. */
  disarm() {
    clearTimeout(this.#counting);
    this.#awake.release();
    if (!this.microphone) return;
    this.#cutter.disarm();
    this.#setState("idle");
  }

  /** Let go of the microphone. */
  close() {
    this.disarm();
    this.microphone?.close();
    this.microphone = null;
    this.#setState("closed");
  }

  #listen(microphone) {
    const detector = new ToneDetector(microphone.sampleRate);
    const drop = (why) => {
      this.#setState("waiting");
      this.#tell("dropped", why);
    };
    this.#cutter = new NoteCutter(microphone.sampleRate, {
      containsTone: (samples) => detector.containsTone(samples),
      onBegin: () => {
        this.#noteTarget = this.#target;
        this.#setState("sounding");
      },
      onDrop: () => drop("short"),
      onNoise: () => drop("noise"),
      onEnd: (note) => {
        this.#setState("waiting");
        this.#keep(note, this.#noteTarget, microphone.sampleRate);
      },
      onLevel: (level) => this.#tell("level", level),
    });
    microphone.listen((chunk, firstFrame) => this.#cutter.push(chunk, firstFrame));
    microphone.addEventListener("ended", () => {
      if (this.microphone !== microphone) return;
      this.close();
      this.#tell("trouble", MicrophoneTrouble.gone());
    });
  }

  #count(remainingS) {
    this.#setState("counting");
    this.#tell("count", remainingS);
    this.#counting = setTimeout(() => {
      if (remainingS > 1) this.#count(remainingS - 1);
      else this.#begin();
    }, 1000);
  }

  #begin() {
    this.#cutter.arm();
    this.#setState("waiting");
  }

  async #keep(note, { url, fields, label = "" }, sampleRate) {
    const wav = encodeWav(note.samples, sampleRate);
    const id = await this.#outbox.keep({ url, wav, fields, label });
    this.#own.add(id);
    const durationS = (note.endFrame - note.onsetFrame) / sampleRate;
    this.#tell("note", { ...note, id, label, url, sampleRate, durationS });
    this.#outbox.send();
  }

  #setState(state) {
    if (this.state === state) return;
    this.state = state;
    this.#tell("state", state);
  }

  #tell(name, detail = null) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
