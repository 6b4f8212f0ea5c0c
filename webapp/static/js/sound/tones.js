// Reference tones: a sine, or a soft tone like a reed's, at one frequency, begun and ended softly.
// Nothing sounds before a player asks for it, so the audio context is made on the first start.

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
  #oscillator = null;
  #gain = null;
  #wave = "";

  /** @param {BaseAudioContext} [context] where it sounds; its own by default */
  constructor(context) {
    this.#context = context ?? null;
  }

  get isSounding() {
    return this.#oscillator !== null;
  }

  /**
   * Begin, or change what sounds.
   * @param {{hz: number, wave?: "sine"|"reed", level?: number}} wish
   */
  start({ hz, wave = "reed", level = 0.5 }) {
    if (this.isSounding && wave === this.#wave) {
      this.change({ hz, level });
      return;
    }
    this.stop();
    this.#context ??= new AudioContext();
    if (this.#context instanceof AudioContext) this.#context.resume();
    const now = this.#context.currentTime;
    this.#gain = this.#context.createGain();
    this.#gain.gain.setValueAtTime(0, now);
    this.#gain.gain.linearRampToValueAtTime(gainOf(level), now + ATTACK_S);
    this.#gain.connect(this.#context.destination);
    this.#oscillator = this.#context.createOscillator();
    shape(this.#context, this.#oscillator, wave);
    this.#wave = wave;
    this.#oscillator.frequency.setValueAtTime(hz, now);
    this.#oscillator.connect(this.#gain);
    this.#oscillator.start(now);
  }

  /**
   * Move to another pitch or loudness without a click.
   * @param {{hz?: number, level?: number}} wish
   */
  change({ hz, level }) {
    if (!this.isSounding) return;
    const now = this.#context.currentTime;
    if (hz !== undefined) this.#oscillator.frequency.setTargetAtTime(hz, now, ATTACK_S / 4);
    if (level !== undefined) {
      this.#gain.gain.cancelScheduledValues(now);
      this.#gain.gain.setTargetAtTime(gainOf(level), now, ATTACK_S / 2);
    }
  }

  /** End softly. */
  stop() {
    if (!this.isSounding) return;
    const now = this.#context.currentTime;
    const gain = this.#gain;
    gain.gain.cancelScheduledValues(now);
    gain.gain.setTargetAtTime(0, now, RELEASE_S / 5);
    this.#oscillator.stop(now + RELEASE_S);
    this.#oscillator.onended = () => gain.disconnect();
    this.#oscillator = null;
    this.#gain = null;
  }
}
