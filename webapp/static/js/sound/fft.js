// @ts-check
// The spectrum of real samples: a radix-2 transform of half the size, and the two halves untangled.
//
// Sources: Cooley & Tukey, "An algorithm for the machine calculation of complex Fourier series",
// Math. Comp. 19, 1965; the packing of 2n real samples into n complex ones after Cooley, Lewis &
// Welch, J. Sound Vib. 12, 1970 (both from memory).

export class RealFft {
  #order;
  #cos;
  #sin;

  /** @param {number} size how many samples, a power of two from 4 on */
  constructor(size) {
    if (size < 4 || size & (size - 1)) throw new RangeError(`${size} is not a power of two`);
    this.size = size;
    this.re = new Float64Array(size / 2 + 1);
    this.im = new Float64Array(size / 2 + 1);
    this.#order = orderBits(size / 2);
    this.#cos = new Float64Array(size / 2);
    this.#sin = new Float64Array(size / 2);
    for (let at = 0; at < size / 2; at += 1) {
      this.#cos[at] = Math.cos((2 * Math.PI * at) / size);
      this.#sin[at] = Math.sin((2 * Math.PI * at) / size);
    }
  }

  /**
   * Fill `re` and `im` with bins 0 to size / 2 of `samples`.
   * @param {Float64Array} samples `size` of them
   */
  transform(samples) {
    const { re, im } = this;
    const order = this.#order;
    const half = this.size / 2;
    for (let at = 0; at < half; at += 1) {
      re[at] = samples[2 * order[at]];
      im[at] = samples[2 * order[at] + 1];
    }
    for (let span = 1; span < half; span *= 2) this.#join(span);
    this.#untangle();
  }

  /** Butterflies of pairs that lie `span` apart. @param {number} span */
  #join(span) {
    const { re, im } = this;
    const [cos, sin] = [this.#cos, this.#sin];
    const half = this.size / 2;
    const stride = half / span; // the table has `size` steps a turn, a butterfly 2 * span
    for (let first = 0; first < half; first += 2 * span) {
      for (let step = 0; step < span; step += 1) {
        const upper = first + step;
        const lower = upper + span;
        const c = cos[step * stride];
        const s = sin[step * stride];
        const x = c * re[lower] + s * im[lower];
        const y = c * im[lower] - s * re[lower];
        re[lower] = re[upper] - x;
        im[lower] = im[upper] - y;
        re[upper] += x;
        im[upper] += y;
      }
    }
  }

  /** Bins of the real samples from those of (even samples + i odd samples). */
  #untangle() {
    const { re, im } = this;
    const [cos, sin] = [this.#cos, this.#sin];
    const half = this.size / 2;
    const [first, other] = [re[0], im[0]];
    for (let low = 1; low <= half / 2; low += 1) {
      const high = half - low;
      const evenRe = 0.5 * (re[low] + re[high]);
      const evenIm = 0.5 * (im[low] - im[high]);
      const oddRe = 0.5 * (im[low] + im[high]);
      const oddIm = 0.5 * (re[high] - re[low]);
      const turnedRe = cos[low] * oddRe + sin[low] * oddIm;
      const turnedIm = cos[low] * oddIm - sin[low] * oddRe;
      re[low] = evenRe + turnedRe;
      im[low] = evenIm + turnedIm;
      re[high] = evenRe - turnedRe;
      im[high] = turnedIm - evenIm;
    }
    [re[0], im[0]] = [first + other, 0];
    [re[half], im[half]] = [first - other, 0];
  }
}

/** The index whose bits stand in reverse order, for each index below `count`. @param {number} count */
function orderBits(count) {
  const order = new Uint32Array(count);
  for (let bit = 1, top = count / 2; bit < count; bit *= 2, top /= 2) {
    for (let at = 0; at < bit; at += 1) order[bit + at] = order[at] + top;
  }
  return order;
}

/**
 * A Hann window as it repeats (its last zero left out), so that its spectrum has zeros on the bins.
 * @param {number} size
 * @returns {Float64Array}
 */
export function makeHann(size) {
  return Float64Array.from({ length: size }, (_, at) => 0.5 - 0.5 * Math.cos((2 * Math.PI * at) / size));
}
