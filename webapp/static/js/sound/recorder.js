// @ts-check
// Armed once, it records take after take: each note is cut, kept in the outbox and sent by itself.

import { TypedEventTarget } from "../typed-event-target.js";
import { Awake } from "./awake.js";
import { NoteCutter } from "./cutting.js";
import { MicrophoneTrouble, openMicrophone } from "./microphone.js";
import { ToneDetector } from "./tone-detector.js";
import { WATCHED, WatchedTime } from "./watched.js";
import { encodeWav } from "./wav.js";

/**
 * @typedef {object} Destination where takes go
 * @property {string} url
 * @property {Record<string, string>} [fields] what is said of each
 * @property {string} [label] a name for the player
 * @property {number} [quietS] how long a silence ends it, where that is longer than for a held note
 * @property {import("../said.js").Said} [said] the same with its notes by their signs
 */

/** @typedef {"closed" | "opening" | "idle" | "counting" | "waiting" | "sounding"} RecorderState */
/** @typedef {"short" | "noise"} Dropped why a note is not kept */
/**
 * @typedef {import("./cutting.js").Note & {id: number, label: string, url: string,
 *   fields: Record<string, string>, sampleRate: number, durationS: number}} RecordedNote
 */
/** @typedef {import("./outbox.js").OutboxDetails} OutboxDetails */

/**
 * @typedef {object} RecorderDetails
 * @property {RecorderState} state
 * @property {number} count seconds until it listens
 * @property {import("./cutting.js").Level} level 20 a second
 * @property {RecordedNote} note was cut and is kept
 * @property {Dropped} dropped
 * @property {OutboxDetails["result"]} result of one of its own notes
 * @property {OutboxDetails["refused"]} refused of one of its own notes
 * @property {MicrophoneTrouble} trouble
 */

/**
 * Records takes.
 * @extends {TypedEventTarget<RecorderDetails>}
 */
export class Recorder extends TypedEventTarget {
  #outbox;
  /** @type {NoteCutter | null} */
  #cutter = null;
  /** @type {Destination | null} */
  #destination = null;
  /** @type {Destination | null} a note belongs to what was asked for when it began */
  #noteDestination = null;
  /** @type {Set<number>} */
  #own = new Set();
  #counting = 0;
  #watched = new WatchedTime();
  /** The page is about to be left: what is put away only while it goes may come too late. */
  #keepNow = () => {
    if (this.state !== "sounding") return;
    this.#cutter?.disarm();
    this.#cutter?.arm(); // where the player stays, it goes on after a silence
  };
  #awake = new Awake();
  /** @type {RecorderState} */
  state = "closed";
  /** The open microphone, or null. @type {import("./microphone.js").Microphone | null} */
  microphone = null;

  /** @param {{outbox: import("./outbox.js").Outbox}} parts */
  constructor({ outbox }) {
    super();
    this.#outbox = outbox;
    outbox.on("result", (detail) => this.#own.has(detail.id) && this.emit("result", detail));
    outbox.on("refused", (detail) => this.#own.has(detail.id) && this.emit("refused", detail));
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
      if (!(trouble instanceof MicrophoneTrouble)) throw trouble;
      this.emit("trouble", trouble);
      return false;
    }
    this.#listen(this.microphone);
    window.addEventListener("beforeunload", this.#keepNow);
    this.#setState("idle");
    return true;
  }

  /**
   * Record takes from now on.
   * @param {Destination & {countInS?: number}} destination it listens after so many seconds
   */
  arm({ countInS = 0, ...destination }) {
    if (!this.microphone) return;
    this.disarm();
    this.#destination = destination;
    this.#awake.hold();
    if (countInS > 0) this.#count(Math.ceil(countInS));
    else this.#begin();
  }

  /** Go on elsewhere; a note that sounds still goes to the place before. @param {Destination} destination */
  redirect(destination) {
    this.#destination = destination;
  }

  /**
   * Say whether the player sees the pitch while it sounds: the takes that it was seen of say so.
   * @param {boolean} isWatching
   */
  watch(isWatching) {
    this.#watched.watch(isWatching);
  }

  /** Record no more; a note that sounds is kept. */
  disarm() {
    clearTimeout(this.#counting);
    this.#awake.release();
    if (!this.microphone) return;
    this.#cutter?.disarm();
    this.#setState("idle");
  }

  /** Let go of the microphone. */
  close() {
    window.removeEventListener("beforeunload", this.#keepNow);
    this.disarm();
    this.microphone?.close();
    this.microphone = null;
    this.#setState("closed");
  }

  /** @param {import("./microphone.js").Microphone} microphone */
  #listen(microphone) {
    const detector = new ToneDetector(microphone.sampleRate);
    const drop = (/** @type {Dropped} */ why) => {
      this.#setState("waiting");
      this.emit("dropped", why);
    };
    const cutter = new NoteCutter(microphone.sampleRate, {
      containsTone: (samples) => detector.containsTone(samples),
      onBegin: () => {
        this.#noteDestination = this.#destination;
        cutter.endAfter(this.#destination?.quietS);
        this.#setState("sounding");
      },
      onDrop: () => drop("short"),
      onNoise: () => drop("noise"),
      onEnd: (note) => {
        this.#setState("waiting");
        if (this.#noteDestination) this.#keep(note, this.#noteDestination, microphone.sampleRate);
      },
      onLevel: (level) => this.emit("level", level),
    });
    this.#cutter = cutter;
    this.#watched.begin();
    microphone.listen((chunk, firstFrame) => {
      this.#watched.hear(firstFrame + chunk.length);
      cutter.push(chunk, firstFrame);
    });
    microphone.addEventListener("ended", () => {
      if (this.microphone !== microphone) return;
      this.close();
      this.emit("trouble", MicrophoneTrouble.gone());
    });
  }

  /** @param {number} remainingS */
  #count(remainingS) {
    this.#setState("counting");
    this.emit("count", remainingS);
    this.#counting = window.setTimeout(() => {
      if (remainingS > 1) this.#count(remainingS - 1);
      else this.#begin();
    }, 1000);
  }

  #begin() {
    this.#cutter?.arm();
    this.#setState("waiting");
  }

  /**
   * @param {import("./cutting.js").Note} note
   * @param {Destination} destination
   * @param {number} sampleRate
   */
  async #keep(note, { url, fields: told, label = "", said = label }, sampleRate) {
    const fields = this.#watched.covers(note.onsetFrame) ? { ...told, ...WATCHED } : { ...told };
    const wav = encodeWav(note.samples, sampleRate);
    const id = await this.#outbox.keep({ url, wav, fields, label, said });
    this.#own.add(id);
    const durationS = (note.endFrame - note.onsetFrame) / sampleRate;
    this.emit("note", { ...note, id, label, url, fields, sampleRate, durationS });
    this.#outbox.send();
  }

  /** @param {RecorderState} state */
  #setState(state) {
    if (this.state === state) return;
    this.state = state;
    this.emit("state", state);
  }
}
