// @ts-check
// The page's part "By ear": tones to play against, takes to compare. One thing sounds at a time,
// but a take against the tone: then both do, and what beats is said in words.
// A page whose target changes tells the part so by a "target" event, and by "microphone" whether one
// listens: what sounds from a loudspeaker would be recorded with the note.

import { find, findAll, findOptional, findClosest, onDetail, press, show } from "./dom.js";
import { writeSaid } from "./notes.js";
import { joinSaid } from "./said.js";
import { describeBeats } from "./sound/beats.js";
import { TakePlayer } from "./sound/take-player.js";
import { Tone } from "./sound/tones.js";

const MICROPHONE_LISTENS = "The microphone would hear it. Stop listening first, or wear headphones and tick the box.";

/**
 * @typedef {object} NewTarget the detail of "target"
 * @property {number} hz
 * @property {import("./said.js").Said} label
 * @property {{hz: number, label: import("./said.js").Said, ratio: string} | null} [root]
 * @property {string} [bestTake] the address of a clip
 */
/** @typedef {import("./sound/take-player.js").SteadyPart & {hz: number}} Chosen */

/** @type {AudioContext | null} */
let shared = null;

function context() {
  shared ??= new AudioContext();
  return shared;
}

/** @param {string[]} letters @param {number[]} gains in dB */
function describeGains(letters, gains) {
  const turned = letters
    .map((letter, index) => ({ letter, gain: gains[index] }))
    .filter(({ gain }) => gain < -0.05)
    .map(({ letter, gain }) => `${letter} is turned down by ${(-gain).toFixed(1)} dB`);
  if (letters.length < 2) return "";
  return turned.length ? `${turned.join(", ")}: both are equally loud now.` : "Both are equally loud.";
}

/** @param {unknown} error */
function describeTrouble(error) {
  if (error instanceof DOMException) return "This browser cannot play this recording; its page offers the file.";
  return error instanceof Error ? error.message : String(error);
}

class ComparisonPlayer {
  #area;
  #tones;
  #takes;
  #headphones;
  /** @type {Tone | null} */
  #target = null;
  /** @type {Tone | null} */
  #root = null;
  /** @type {TakePlayer | null} */
  #player = null;
  #isMicrophoneOpen = false;
  #best = "";

  /** @param {HTMLElement} area */
  constructor(area) {
    this.#area = area;
    this.#tones = findOptional(area, "[data-tones]");
    this.#takes = findOptional(area, "[data-by-ear]");
    this.#headphones = findOptional(area, "[data-headphones]", HTMLInputElement);
    show(area);
    this.#headphones?.addEventListener("change", () => this.#noteMicrophone(this.#isMicrophoneOpen));
    area.addEventListener("click", (event) => this.#click(event));
    this.#tones?.addEventListener("input", () => this.#adjust());
    this.#takes?.addEventListener("change", () => this.stop());
    onDetail(area, "target", (/** @type {NewTarget} */ target) => this.#retarget(target));
    onDetail(area, "microphone", (/** @type {{isOpen: boolean}} */ { isOpen }) => this.#noteMicrophone(isOpen));
    if (this.#takes && this.#tones) show(find(this.#takes, '[data-play="beats"]'));
    addEventListener("pagehide", () => this.stop());
  }

  /** @param {MouseEvent} event */
  #click(event) {
    const button = findClosest(event.target, "button[data-tone], button[data-play]");
    if (!button) return;
    const isOn = button.getAttribute("aria-pressed") === "true";
    this.stop();
    if (isOn) return;
    if (this.#isHeardByMicrophone) {
      this.#say(MICROPHONE_LISTENS);
      return;
    }
    this.#press(button);
    const { tone, play } = button.dataset;
    if (tone) this.#sound(tone);
    else if (play === "best") this.#playAll([{ url: this.#best, fromS: 0, toS: Infinity }], () => "");
    else if (play) this.#play(play);
  }

  /** @param {HTMLElement | null} button */
  #press(button) {
    press(findAll(this.#area, "button[aria-pressed]"), (one) => one === button);
  }

  /** What the player has set, in the page: pitches, kind of tone, loudness. */
  #readWish() {
    const { hz, rootHz } = this.#tones?.dataset ?? {};
    const wave = find(this.#area, "[data-wave]", HTMLSelectElement).value;
    const level = Number(find(this.#area, "[data-loudness]", HTMLInputElement).value) / 100;
    const kind = { wave: /** @type {import("./sound/tones.js").Wave} */ (wave), level };
    return { target: { hz: Number(hz), ...kind }, root: { hz: Number(rootHz), ...kind } };
  }

  /** @param {string} which "target", "root" or "both" */
  #sound(which) {
    this.#target ??= new Tone(context());
    this.#root ??= new Tone(context());
    const { target, root } = this.#readWish();
    if (which !== "root") this.#target.start(target);
    if (which !== "target") this.#root.start(root);
  }

  /** What sounds follows what the player has set. */
  #adjust() {
    const { target, root } = this.#readWish();
    if (this.#target?.isSounding) this.#target.start(target);
    if (this.#root?.isSounding) this.#root.start(root);
  }

  /** @param {string} letter @returns {Chosen} */
  #chosen(letter) {
    const { selectedOptions } = find(this.#area, `[data-side="${letter}"]`, HTMLSelectElement);
    const { from, to, hz } = selectedOptions[0].dataset;
    return { url: selectedOptions[0].value, fromS: Number(from), toS: Number(to), hz: Number(hz) };
  }

  /** @param {string} which "A", "B", "AB" in turn, or "beats": A against the tone */
  #play(which) {
    const letters = which === "beats" ? ["A"] : [...which];
    const takes = letters.map((letter) => this.#chosen(letter));
    return this.#playAll(
      takes,
      (gains) => {
        if (which !== "beats") return describeGains(letters, gains);
        this.#sound("target");
        return describeBeats(takes[0].hz, this.#readWish().target.hz);
      },
      (index) => this.#showTurn(letters, index),
    );
  }

  /**
   * @param {import("./sound/take-player.js").SteadyPart[]} takes
   * @param {(gains: number[]) => string} describe
   * @param {(index: number) => void} [onTurn]
   */
  async #playAll(takes, describe, onTurn) {
    this.#player ??= new TakePlayer(context());
    this.#say("Fetching the recording.");
    try {
      const gains = await this.#player.play(takes, onTurn);
      if (!findOptional(this.#area, 'button[aria-pressed="true"]')) return; // stopped meanwhile
      this.#say(describe(gains));
    } catch (error) {
      this.stop();
      this.#say(describeTrouble(error));
    }
  }

  /** @param {string[]} letters @param {number} index the one that begins */
  #showTurn(letters, index) {
    for (const side of findAll(this.#area, "[data-side]")) {
      side.closest(".field")?.toggleAttribute("data-sounding", side.dataset.side === letters[index]);
    }
  }

  /** @param {string} words */
  #say(words) {
    const place = findOptional(this.#area, "[data-comparison-words]");
    if (place) place.textContent = words;
  }

  /** @param {NewTarget} target */
  #retarget({ hz, label, root = null, bestTake = "" }) {
    const tones = find(this.#area, "[data-tones]");
    const isRootSounding = this.#root?.isSounding;
    this.#best = bestTake;
    this.#player?.stop();
    tones.dataset.hz = String(hz);
    if (root) tones.dataset.rootHz = String(root.hz);
    writeSaid(find(tones, '[data-tone="target"]'), joinSaid("Play", label));
    this.#showRoot(tones, root);
    const best = findOptional(tones, '[data-play="best"]');
    if (best) show(best, bestTake !== "");
    if ((isRootSounding && !root) || findOptional(this.#area, '[data-play][aria-pressed="true"]')) this.stop();
    else this.#adjust();
  }

  /** @param {HTMLElement} tones @param {NewTarget["root"]} root */
  #showRoot(tones, root) {
    const alone = findOptional(tones, '[data-tone="root"]');
    const both = findOptional(tones, '[data-tone="both"]');
    if (!alone || !both) return;
    for (const button of [alone, both]) show(button, Boolean(root));
    writeSaid(alone, joinSaid("Play", root?.label ?? ""));
    both.textContent = `Both, ${root?.ratio}`;
  }

  get #isHeardByMicrophone() {
    return this.#isMicrophoneOpen && !this.#headphones?.checked;
  }

  /** @param {boolean} isOpen */
  #noteMicrophone(isOpen) {
    this.#isMicrophoneOpen = isOpen;
    if (this.#isHeardByMicrophone) this.stop();
  }

  /** Be silent. */
  stop() {
    this.#target?.stop();
    this.#root?.stop();
    this.#player?.stop();
    this.#press(null);
    this.#say("");
    for (const field of findAll(this.#area, "[data-sounding]")) field.removeAttribute("data-sounding");
  }
}

for (const area of findAll(document, "[data-comparison-player]")) new ComparisonPlayer(area);
