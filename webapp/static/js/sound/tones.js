// @ts-check
// Reference tones: a sine, or a soft tone like a reed's, at one frequency, begun and ended softly.

const ATTACK_S = 0.04;
const RELEASE_S = 0.12;
const LOUDEST_GAIN = 0.25; // -12 dB below full scale: a reference, not a player
const QUIETEST_DB = -36;
// Amplitudes of the partials from the fundamental up: odd ones lead, as in a tube closed at one end
// (the even ones are weak, never absent); falling fast, so that it stays soft.
const REED_PARTIALS = [1, 0.08, 0.45, 0.06, 0.22, 0.04, 0.09, 0.02, 0.04];

/**
 * Turn a place on a volume control into a gain; equal steps sound about equally large.
 * @param {number} level 0 (silent) to 1
 * @returns {number} gain, at most LOUDEST_GAIN
 */
function gainOf(level) {
  const place = Math.min(1, Math.max(0, level));
  return place === 0 ? 0 : LOUDEST_GAIN * 10 ** ((QUIETEST_DB * (1 - place)) / 20);
}

/** @typedef {"sine" | "reed"} Wave */

/**
 * @param {BaseAudioContext} context
 * @param {OscillatorNode} oscillator
 * @param {Wave} wave
 */
function shape(context, oscillator, wave) {
  if (wave === "sine") {
    oscillator.type = "sine";
    return;
  }
  const real = new Float32Array(REED_PARTIALS.length + 1);
  const imag = Float32Array.from([0, ...REED_PARTIALS]);
  oscillator.setPeriodicWave(context.createPeriodicWave(real, imag));
}

/** One reference tone. */
export class Tone {
  #context;
  /** @type {{oscillator: OscillatorNode, gain: GainNode, wave: Wave} | null} */
  #sounding = null;

  /** @param {BaseAudioContext} context where it sounds */
  constructor(context) {
    this.#context = context;
  }

  get isSounding() {
    return this.#sounding !== null;
  }

  /**
   * Begin, or change what sounds.
   * @param {{hz: number, wave?: Wave, level?: number}} wish
   */
  start({ hz, wave = "reed", level = 0.5 }) {
    if (wave === this.#sounding?.wave) {
      this.change({ hz, level });
      return;
    }
    this.stop();
    const context = this.#context;
    if (context instanceof AudioContext) context.resume();
    const now = context.currentTime;
    const gain = context.createGain();
    gain.gain.setValueAtTime(0, now);
    gain.gain.linearRampToValueAtTime(gainOf(level), now + ATTACK_S);
    gain.connect(context.destination);
    const oscillator = context.createOscillator();
    shape(context, oscillator, wave);
    oscillator.frequency.setValueAtTime(hz, now);
    oscillator.connect(gain);
    oscillator.start(now);
    this.#sounding = { oscillator, gain, wave };
  }

  /**
   * Move to another pitch or loudness without a click.
   * @param {{hz?: number, level?: number}} wish
   */
  change({ hz, level }) {
    if (!this.#sounding) return;
    const { oscillator, gain } = this.#sounding;
    const now = this.#context.currentTime;
    if (hz !== undefined) oscillator.frequency.setTargetAtTime(hz, now, ATTACK_S / 4);
    if (level !== undefined) {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setTargetAtTime(gainOf(level), now, ATTACK_S / 2);
    }
  }

  /** End softly. */
  stop() {
    if (!this.#sounding) return;
    const { oscillator, gain } = this.#sounding;
    const now = this.#context.currentTime;
    gain.gain.cancelScheduledValues(now);
    gain.gain.setTargetAtTime(0, now, RELEASE_S / 5);
    oscillator.stop(now + RELEASE_S);
    oscillator.onended = () => gain.disconnect();
    this.#sounding = null;
  }
}
