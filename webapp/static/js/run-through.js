// @ts-check
// A passage recorded in the page: counted in at its own beat, up to a touch or the longest time.
// What was recorded goes into the form's file, so that it is sent like any other file.

import { find, findAll, show, write } from "./dom.js";
import { Awake } from "./sound/awake.js";
import { MicrophoneTrouble, openMicrophone } from "./sound/microphone.js";
import { Tape } from "./sound/tape.js";
import { encodeWav } from "./sound/wav.js";

const DEVICE = "microphone"; // the choice is kept in this browser, for every page that records
const CLICK_S = 0.03;
const CLICK_HZ = 1500;
const FEWEST_BEATS = 2;
const DROPOUT_S = 0.004;

/**
 * How a passage is counted in: a bar of it, at least two beats, in seconds a beat.
 * @param {number} quarters in its first bar
 * @param {number} beatsPerMinute
 */
export function planCountIn(quarters, beatsPerMinute) {
  return { count: Math.max(FEWEST_BEATS, Math.round(quarters)), beatS: 60 / beatsPerMinute };
}

/** @param {AudioContext} context @param {number} atS */
function click(context, atS) {
  const tone = context.createOscillator();
  const level = context.createGain();
  tone.frequency.value = CLICK_HZ;
  level.gain.setValueAtTime(0.3, atS);
  level.gain.exponentialRampToValueAtTime(0.001, atS + CLICK_S);
  tone.connect(level).connect(context.destination);
  tone.start(atS);
  tone.stop(atS + CLICK_S);
}

/** @param {HTMLFormElement} form */
function enhance(form) {
  const part = (/** @type {string} */ name) => find(form, `[data-run-${name}]`);
  const button = find(form, "[data-run-record]", HTMLButtonElement);
  const sound = find(form, "[data-run-sound]", HTMLAudioElement);
  const file = find(form, "input[type=file]", HTMLInputElement);
  const first = find(form, "select[name=first_bar]", HTMLSelectElement);
  const beats = find(form, "input[name=tempo]", HTMLInputElement);
  const awake = new Awake();
  /** @type {import("./sound/microphone.js").Microphone | null} */
  let microphone = null;
  /** @type {Tape | null} */
  let tape = null;
  let timer = 0;
  show(part("recorder"));

  /** @param {string} words */
  function complain(words) {
    write(part("trouble"), words);
    show(part("trouble"), words !== "");
  }

  function close() {
    clearTimeout(timer);
    awake.release();
    microphone?.close();
    microphone = null;
    tape = null;
    button.textContent = "Record";
    part("recorder").classList.remove("is-listening");
    show(part("count"), false);
  }

  function keep() {
    if (!microphone || !tape) return;
    const rate = microphone.sampleRate;
    const { firstFrame, nextFrame } = tape;
    const samples = nextFrame === null ? new Float32Array() : tape.cut(firstFrame, nextFrame);
    close();
    if (!samples.length) {
      write(part("state"), "Nothing was recorded.");
      return;
    }
    const wav = new File([encodeWav(samples, rate)], "run-through.wav", { type: "audio/wav" });
    const held = new DataTransfer();
    held.items.add(wav);
    file.files = held.files;
    if (sound.src) URL.revokeObjectURL(sound.src);
    sound.src = URL.createObjectURL(wav);
    show(sound);
    write(part("state"), `Recorded ${(samples.length / rate).toFixed(0)} s. Send it to find the notes.`);
    find(form, "[data-run-send]", HTMLButtonElement).focus();
  }

  function record() {
    const now = microphone;
    if (!now) return;
    show(part("count"), false);
    write(part("state"), "Recording. Play.");
    button.textContent = "Stop";
    const kept = new Tape(Math.round(DROPOUT_S * now.sampleRate));
    tape = kept;
    now.listen((chunk, firstFrame) => kept.add(chunk, firstFrame));
    timer = window.setTimeout(keep, 1000 * Number(form.dataset.longest));
  }

  /** @param {number} left beats @param {number} beatS */
  function count(left, beatS) {
    if (!microphone) return;
    if (left === 0) {
      record();
      return;
    }
    click(microphone.context, microphone.context.currentTime);
    write(part("count"), String(left));
    timer = window.setTimeout(() => count(left - 1, beatS), 1000 * beatS);
  }

  async function begin() {
    complain("");
    const tempo = Number(beats.value.replace(",", "."));
    if (!(tempo > 0)) {
      beats.reportValidity();
      beats.focus();
      return;
    }
    write(part("state"), "Opening the microphone…");
    try {
      microphone = await openMicrophone({ deviceId: localStorage.getItem(DEVICE) ?? undefined });
    } catch (trouble) {
      if (!(trouble instanceof MicrophoneTrouble)) throw trouble;
      if (trouble.kind === "missing") localStorage.removeItem(DEVICE); // the next try takes any
      write(part("state"), "Not recording.");
      complain(trouble.message);
      return;
    }
    microphone.addEventListener("ended", () => {
      keep();
      complain(MicrophoneTrouble.gone().message);
    });
    awake.hold();
    button.textContent = "Stop";
    part("recorder").classList.add("is-listening");
    show(part("count"));
    write(part("state"), "Counting in.");
    const plan = planCountIn(Number(first.selectedOptions[0]?.dataset.quarters), tempo);
    count(plan.count, plan.beatS);
  }

  button.addEventListener("click", () => {
    if (tape) keep();
    else if (microphone) close();
    else begin();
  });
  first.addEventListener("change", () => {
    const printed = first.selectedOptions[0]?.dataset.beats;
    if (printed) beats.value = printed;
  });
  window.addEventListener("pagehide", close);
}

for (const form of findAll(document, "form[data-run-through]", HTMLFormElement)) enhance(form);
