// The page's part "By ear": tones to play against, takes to compare. One thing sounds at a time,
// but a take against the tone: then both do, and what beats is said in words.
// A page whose target changes tells the part so by a "retarget" event with {hz, label, rootHz}.

import { describeBeats } from "./sound/beats.js";
import { Listening } from "./sound/takes-by-ear.js";
import { Tone } from "./sound/tones.js";

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

class Hearing {
  #area;
  #tones;
  #ear;
  #target = null;
  #root = null;
  #listening = null;

  constructor(area) {
    this.#area = area;
    this.#tones = area.querySelector("[data-tones]");
    this.#ear = area.querySelector("[data-by-ear]");
    area.hidden = false;
    area.addEventListener("click", (event) => this.#click(event));
    this.#tones?.addEventListener("input", () => this.#adjust());
    this.#ear?.addEventListener("change", () => this.stop());
    area.addEventListener("retarget", (event) => this.#retarget(event.detail));
    area.addEventListener("hush", () => this.stop());
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
    press(this.#area, button);
    if (button.dataset.tone) this.#sound(button.dataset.tone);
    else this.#play(button.dataset.play);
  }

  get #wish() {
    return {
      wave: this.#tones.querySelector("[data-wave]").value,
      level: Number(this.#tones.querySelector("[data-level]").value) / 100,
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

  async #play(which) {
    this.#listening ??= new Listening(context());
    const letters = which === "beats" ? ["A"] : [...which];
    const takes = letters.map((letter) => this.#chosen(letter));
    this.#say("Fetching the recording.");
    try {
      const gains = await this.#listening.play(takes, (index) => this.#showTurn(letters, index));
      if (!this.#ear.querySelector('[aria-pressed="true"]')) return; // stopped meanwhile
      if (which === "beats") this.#sound("target");
      this.#say(which === "beats" ? describeBeats(takes[0].hz, Number(this.#tones.dataset.hz)) : this.#describe(letters, gains));
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

  #describe(letters, gains) {
    const turned = letters
      .map((letter, index) => [letter, gains[index]])
      .filter(([, gain]) => gain < -0.05)
      .map(([letter, gain]) => `${letter} is turned down by ${(-gain).toFixed(1)} dB`);
    if (letters.length < 2) return "";
    return turned.length ? `${turned.join(", ")}: both are equally loud now.` : "Both are equally loud.";
  }

  #say(words) {
    const place = this.#ear?.querySelector("[data-heard]");
    if (place) place.textContent = words;
  }

  #retarget({ hz, label, rootHz }) {
    this.#tones.dataset.hz = hz;
    const button = this.#tones.querySelector('[data-tone="target"]');
    if (label) button.textContent = `Play ${label}`;
    if (rootHz) this.#tones.dataset.rootHz = rootHz;
    this.#adjust();
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

for (const area of document.querySelectorAll("[data-hearing]")) new Hearing(area);
