// @ts-check
// The microphone without anything that would change the sound: no echo or noise suppression, no
// gain control, the first channel at its own rate. What a browser leaves on is said.

const INSTEAD = "or upload a recording instead.";
/** @typedef {"refused"|"missing"|"busy"|"insecure"|"unsupported"|"other"} Trouble */

/** @type {Record<Trouble | "gone", string>} */
const WORDS = {
  refused: `The browser may not use the microphone. Allow it for this page, beside the address, and press the button again; ${INSTEAD}`,
  missing: `No microphone was found. Plug one in or switch it on, and press the button again; ${INSTEAD}`,
  busy: `The microphone is there but does not answer; perhaps another program uses it. Close that program and press the button again; ${INSTEAD}`,
  insecure: `Browsers hand out the microphone only at https addresses and on the computer itself, at 127.0.0.1. Open the notebook there; ${INSTEAD}`,
  unsupported: `This browser cannot record sound as it is. Use a newer one; ${INSTEAD}`,
  gone: `The microphone is gone. What was played is kept. Plug it in and press the button again; ${INSTEAD}`,
  other: `The microphone could not be opened. Press the button again; ${INSTEAD}`,
};
/** @type {Record<string, Trouble>} by the name of the browser's error */
const KINDS = {
  NotAllowedError: "refused",
  SecurityError: "refused",
  NotFoundError: "missing",
  OverconstrainedError: "missing",
  NotReadableError: "busy",
  AbortError: "busy",
};
/** @type {Record<string, string>} by the name of the setting */
const PROCESSING = {
  echoCancellation: "echo cancellation",
  noiseSuppression: "noise suppression",
  autoGainControl: "automatic gain",
};
const WAKING_MS = 3000;

/** Why there is no microphone; the message says what the player can do. */
export class MicrophoneTrouble extends Error {
  /**
   * @param {Trouble} kind
   * @param {{cause?: unknown, message?: string}} [options]
   */
  constructor(kind, { cause, message = WORDS[kind] } = {}) {
    super(message, { cause });
    this.name = "MicrophoneTrouble";
    this.kind = kind;
  }

  /** The device went while it was open. */
  static gone() {
    return new MicrophoneTrouble("missing", { message: WORDS.gone });
  }
}

/** An open microphone. Dispatches "ended" when the device goes. */
export class Microphone extends EventTarget {
  #stream;
  #source;
  #node;
  /** @type {Set<(chunk: Float32Array, firstFrame: number) => void>} */
  #listeners = new Set();
  /** @type {number | null} */
  #pausedAt = null;
  #missedFrames = 0;

  /**
   * @param {MediaStream} stream
   * @param {MediaStreamAudioSourceNode} source held, or it may be collected and fall silent
   * @param {AudioWorkletNode} node
   * @param {AudioContext} context
   */
  constructor(stream, source, node, context) {
    super();
    this.#stream = stream;
    this.#source = source;
    this.#node = node;
    this.context = context;
    const [track] = stream.getAudioTracks();
    this.label = track.label;
    this.deviceId = track.getSettings().deviceId;
    /** What the browser does to the sound all the same, in words. */
    this.processing = listProcessing(track.getSettings());
    track.addEventListener("ended", () => this.#end());
    node.port.onmessage = ({ data }) => this.#hand(data);
    context.addEventListener("statechange", () => this.#noteState());
  }

  get sampleRate() {
    return this.context.sampleRate;
  }

  /**
   * Hear every chunk from now on.
   * @param {(chunk: Float32Array, firstFrame: number) => void} listener frames that are missing
   *   between two chunks were lost; a chunk must not be changed
   * @returns {() => void} stops listening
   */
  listen(listener) {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  /** Let go of the device. */
  close() {
    this.#listeners.clear();
    this.#source.disconnect();
    this.#node.port.onmessage = null;
    this.#node.port.postMessage("close");
    for (const track of this.#stream.getTracks()) track.stop();
    if (this.context.state !== "closed") this.context.close();
  }

  /** @param {{samples: Float32Array, firstFrame: number}} chunk */
  #hand({ samples, firstFrame }) {
    for (const listener of this.#listeners) listener(samples, firstFrame + this.#missedFrames);
  }

  #end() {
    if (this.context.state === "closed") return;
    this.close();
    this.dispatchEvent(new Event("ended"));
  }

  /** While the context stands still (a call, a sleeping computer) its frames do not count on. */
  #noteState() {
    if (this.context.state === "running") {
      if (this.#pausedAt === null) return;
      const pausedS = (performance.now() - this.#pausedAt) / 1000;
      this.#missedFrames += Math.max(1, Math.round(pausedS * this.sampleRate));
      this.#pausedAt = null;
    } else if (this.context.state !== "closed") {
      this.#pausedAt ??= performance.now();
      this.context.resume().catch(() => {});
    }
  }
}

/**
 * Open a microphone; the browser may ask the player.
 * @param {{deviceId?: string}} [options] without a device the browser's own choice
 * @returns {Promise<Microphone>}
 * @throws {MicrophoneTrouble}
 */
export async function openMicrophone({ deviceId } = {}) {
  if (!navigator.mediaDevices?.getUserMedia) {
    throw new MicrophoneTrouble(isSecureContext ? "unsupported" : "insecure");
  }
  if (typeof AudioWorkletNode === "undefined") throw new MicrophoneTrouble("unsupported");
  /** @type {MediaStream | null} */
  let stream = null;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ audio: constraints(deviceId) });
    return await connect(stream);
  } catch (error) {
    for (const track of stream?.getTracks() ?? []) track.stop();
    const name = error instanceof Error ? error.name : "";
    throw new MicrophoneTrouble(KINDS[name] ?? "other", { cause: error });
  }
}

/**
 * The microphones that can be chosen. Before the player has allowed one, browsers tell none.
 * @returns {Promise<{deviceId: string, label: string}[]>}
 */
export async function listMicrophones() {
  const devices = (await navigator.mediaDevices?.enumerateDevices?.()) ?? [];
  return devices
    .filter(({ kind, deviceId }) => kind === "audioinput" && deviceId && deviceId !== "communications")
    .map(({ deviceId, label }, place) => ({ deviceId, label: label || `Microphone ${place + 1}` }));
}

/** @param {string | undefined} deviceId @returns {MediaTrackConstraints} */
function constraints(deviceId) {
  const off = Object.fromEntries(Object.keys(PROCESSING).map((name) => [name, false]));
  return deviceId ? { ...off, deviceId: { exact: deviceId } } : off;
}

/** @param {MediaTrackSettings} settings @returns {string[]} */
function listProcessing(settings) {
  const on = new Map(Object.entries(settings));
  return Object.keys(PROCESSING)
    .filter((name) => on.get(name))
    .map((name) => PROCESSING[name]);
}

/** @param {MediaStream} stream */
async function connect(stream) {
  const context = makeContext(stream.getAudioTracks()[0].getSettings().sampleRate);
  try {
    await context.audioWorklet.addModule(new URL("./capture.js", import.meta.url));
    const source = context.createMediaStreamSource(stream);
    const node = new AudioWorkletNode(context, "capture", { numberOfInputs: 1, numberOfOutputs: 1 });
    // A node is only run when it leads somewhere; what it gives is silence.
    source.connect(node).connect(context.destination);
    await wake(context);
    return new Microphone(stream, source, node, context);
  } catch (error) {
    context.close();
    throw error;
  }
}

/** A context at the device's own rate, so that nothing is resampled, where the browser can. @param {number} [sampleRate] */
function makeContext(sampleRate) {
  try {
    return new AudioContext({ sampleRate });
  } catch {
    return new AudioContext();
  }
}

/** Where the browser wants a gesture first, this would wait for ever. @param {AudioContext} context */
async function wake(context) {
  if (context.state === "running") return;
  let timer = 0;
  const late = new Promise((_, fail) => {
    timer = window.setTimeout(fail, WAKING_MS, new Error("it does not start"));
  });
  await Promise.race([context.resume(), late]);
  clearTimeout(timer);
}
