// @ts-check
// Sound as a wav file of 32-bit floats: every sample as the microphone gave it.
// The form of the file: RIFF WAVE with format tag 3 (IEEE float), which asks for a fact chunk.

const FLOAT_TAG = 3;
const SAMPLE_BYTES = 4;
const HEAD_BYTES = 58;

/**
 * Write one channel as a wav file.
 * @param {Float32Array} samples
 * @param {number} sampleRate frames a second
 * @returns {ArrayBuffer}
 */
export function encodeWav(samples, sampleRate) {
  const soundBytes = samples.length * SAMPLE_BYTES;
  const file = new DataView(new ArrayBuffer(HEAD_BYTES + soundBytes));
  let place = 0;
  const text = (/** @type {string} */ letters) => {
    for (const letter of letters) file.setUint8(place++, letter.charCodeAt(0));
  };
  const number = (/** @type {number} */ value, /** @type {2 | 4} */ bytes) => {
    if (bytes === 2) file.setUint16(place, value, true);
    else file.setUint32(place, value, true);
    place += bytes;
  };
  text("RIFF");
  number(HEAD_BYTES - 8 + soundBytes, 4);
  text("WAVEfmt ");
  number(18, 4);
  number(FLOAT_TAG, 2);
  number(1, 2); // channels
  number(sampleRate, 4);
  number(sampleRate * SAMPLE_BYTES, 4);
  number(SAMPLE_BYTES, 2);
  number(8 * SAMPLE_BYTES, 2);
  number(0, 2); // nothing more about the format
  text("fact");
  number(4, 4);
  number(samples.length, 4);
  text("data");
  number(soundBytes, 4);
  for (const sample of samples) {
    file.setFloat32(place, sample, true);
    place += SAMPLE_BYTES;
  }
  return file.buffer;
}
