// @ts-check
// Beats in words. Two tones a few hertz apart swell and fade as often a second as their frequencies
// differ (Helmholtz; any textbook of acoustics); past about 15 a second they are heard as roughness.

const SLOWEST_HZ = 0.1;
const FASTEST_HZ = 15;

/**
 * Say how a played note beats against a tone.
 * @param {number} playedHz
 * @param {number} toneHz
 * @returns {string} one sentence
 */
export function describeBeats(playedHz, toneHz) {
  const rate = Math.abs(playedHz - toneHz);
  if (rate < SLOWEST_HZ) return "Fewer than one beat in ten seconds: as good as still.";
  if (rate > FASTEST_HZ) return `${rate.toFixed(0)} hertz apart: rough, too fast to count beats.`;
  const side = playedHz > toneHz ? "above" : "below";
  return `${rate.toFixed(1)} beats a second; the take lies ${side} the tone.`;
}
