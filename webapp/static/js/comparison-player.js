// The page's part "By ear": tones to play against, takes to compare. One thing sounds at a time,
// but a take against the tone: then both do, and what beats is said in words.
// A page whose target changes tells the part so by a "target" event, and by "microphone" whether one
// listens: what sounds from a loudspeaker would be recorded with the note.

import { describeBeats } from "./sound/beats.js";
import { TakePlayer } from "./sound/take-player.js";
import { Tone } from "./sound/tones.js";

const MICROPHONE_LISTENS = "The microphone would hear it. Stop listening first, or wear headphones and tick the box.";

let shared = null;

function context() {
  shared ??= new AudioContext();
  return shared;
}

function press(area, chosen) {
  for (const button of area.querySelectorAll("button[aria-pressed]")) {
    button.setAttribute("aria-pressed", String(button === chosen));
  }
}

function describeGains(letters, gains) {
  const turned = letters
    .map((letter, index) => [letter, gains[index]])
    .filter(([, gain]) => gain < -0.05)
    .map(([letter, gain]) => `${letter} is turned down by ${(-gain).toFixed(1)} dB`);
  if (letters.length < 2) return "";
  return turned.length ? `${turned.join(", ")}: both are equally loud now.` : "Both are equally loud.";
}

class ComparisonPlayer {
  #area;
  #tones;
  #ear;
  #target = null;
  #root = null;
  #listening = null;
  #isListening = false;
  #best = "";

  constructor(area) {
    this.#area = area;
    this.#tones = area.querySelector("[data-tones]");
    this.#ear = area.querySelector("[data-by-ear]");
    area.hidden = false;
    area.querySelector("[data-headphones]")?.addEventListener("change", () => this.#mind(this.#isListening));
    area.addEventListener("click", (event) => this.#click(event));
    this.#tones?.addEventListener("input", () => this.#adjust());
    this.#ear?.addEventListener("change", () => this.stop());
    area.addEventListener("target", (event) => this.#retarget(event.detail));
    area.addEventListener("microphone", (event) => this.#mind(event.detail.isOpen));
    const beats = this.#ear?.querySelector('[data-play="beats"]');
    if (beats && this.#tones) beats.hidden = false;
    addEventListener("pagehide", () => this.stop());
  }

  #click(event) {
    const button = event.target.closest("button[data-tone], button[data-play]");
    if (!button) return;
    const isOn = button.getAttribute("aria-pressed") === "true";
    this.stop();
    if (isOn) return;
    if (this.#isHeardByMicrophone) {
      this.#say(MICROPHONE_LISTENS);
      return;
    }
    press(this.#area, button);
    if (button.dataset.tone) this.#sound(button.dataset.tone);
    else if (button.dataset.play === "best") this.#playAll([{ url: this.#best, fromS: 0, toS: Infinity }], () => "");
    else this.#play(button.dataset.play);
  }

  get #wish() {
    return {
      wave: this.#tones.querySelector("[data-wave]").value,
      level: Number(this.#tones.querySelector("[data-loudness]").value) / 100,
    };
  }

  #sound(which) {
    this.#target ??= new Tone(context());
    this.#root ??= new Tone(context());
    const { hz, rootHz } = this.#tones.dataset;
    if (which !== "root") this.#target.start({ hz: Number(hz), ...this.#wish });
    if (which !== "target") this.#root.start({ hz: Number(rootHz), ...this.#wish });
  }

  #adjust() {
    const { hz, rootHz } = this.#tones.dataset;
    if (this.#target?.isSounding) this.#target.start({ hz: Number(hz), ...this.#wish });
    if (this.#root?.isSounding) this.#root.start({ hz: Number(rootHz), ...this.#wish });
  }

  #chosen(letter) {
    const option = this.#ear.querySelector(`[data-side="${letter}"]`).selectedOptions[0];
    const { from, to, hz } = option.dataset;
    return { url: option.value, fromS: Number(from), toS: Number(to), hz: Number(hz), words: option.textContent };
  }

  #play(which) {
    const letters = which === "beats" ? ["A"] : [...which];
    const takes = letters.map((letter) => this.#chosen(letter));
    return this.#playAll(
      takes,
      (gains) => {
        if (which !== "beats") return describeGains(letters, gains);
        this.#sound("target");
        return describeBeats(takes[0].hz, Number(this.#tones.dataset.hz));
      },
      (index) => this.#showTurn(letters, index),
    );
  }

  async #playAll(takes, describe, onTurn) {
    this.#listening ??= new TakePlayer(context());
    this.#say("Fetching the recording.");
    try {
      const gains = await this.#listening.play(takes, onTurn);
      if (!this.#area.querySelector('button[aria-pressed="true"]')) return; // stopped meanwhile
      this.#say(describe(gains));
    } catch (error) {
      this.stop();
      this.#say(error instanceof DOMException ? "This browser cannot play this recording; its page offers the file." : error.message);
    }
  }

  #showTurn(letters, index) {
    for (const side of this.#ear.querySelectorAll("[data-side]")) {
      side.closest(".field").toggleAttribute("data-sounding", side.dataset.side === letters[index]);
    }
  }

  #say(words) {
    const place = this.#area.querySelector("[data-comparison-words]");
    if (place) place.textContent = words;
  }

  #retarget({ hz, label, root = null, bestTake = "" }) {
    const button = (name) => this.#area.querySelector(`[data-tone="${name}"]`);
    const isRootSounding = this.#root?.isSounding;
    this.#best = bestTake;
    this.#listening?.stop();
    this.#tones.dataset.hz = hz;
    button("target").textContent = `Play ${label}`;
    if (button("root")) {
      button("root").hidden = button("both").hidden = !root;
      button("root").textContent = `Play ${root?.label}`;
      button("both").textContent = `Both, ${root?.ratio}`;
      this.#area.querySelector('[data-play="best"]').hidden = !bestTake;
    }
    if (root) this.#tones.dataset.rootHz = root.hz;
    if ((isRootSounding && !root) || this.#area.querySelector('[data-play][aria-pressed="true"]')) this.stop();
    else this.#adjust();
  }

  get #isHeardByMicrophone() {
    return this.#isListening && !this.#area.querySelector("[data-headphones]")?.checked;
  }

  #mind(isOpen) {
    this.#isListening = isOpen;
    if (this.#isHeardByMicrophone) this.stop();
  }

  /** Be silent. */
  stop() {
    this.#target?.stop();
    this.#root?.stop();
    this.#listening?.stop();
    press(this.#area, null);
    this.#say("");
    for (const field of this.#area.querySelectorAll("[data-sounding]")) field.removeAttribute("data-sounding");
  }
}

for (const area of document.querySelectorAll("[data-comparison-player]")) new ComparisonPlayer(area);
