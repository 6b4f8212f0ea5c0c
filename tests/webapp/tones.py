"""Small sound files whose pitch is known by formula."""

import io
import wave
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tests.analysis.recording.tones import Tone, make_noise

RATE_HZ = 22_050


def wav_bytes(samples: NDArray[np.float64], rate_hz: int = RATE_HZ) -> bytes:
    """Write samples in -1 to 1 as 16-bit mono wav."""
    written = io.BytesIO()
    with wave.open(written, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return written.getvalue()


@lru_cache(maxsize=64)
def tone_wav(f0_hz: float, duration_s: float = 0.7, seed: int = 1) -> bytes:
    """A clarinet-like tone of a known pitch."""
    tone = Tone(f0_hz, duration_s=duration_s, sample_rate_hz=RATE_HZ, seed=seed)
    return wav_bytes(tone.render())


def silent_wav(duration_s: float = 1.0) -> bytes:
    """Nothing at all."""
    return wav_bytes(np.zeros(round(duration_s * RATE_HZ)))


def noise_wav(duration_s: float = 1.0) -> bytes:
    """White noise."""
    rng = np.random.default_rng(7)
    return wav_bytes(0.1 * make_noise(round(duration_s * RATE_HZ), rng))


def nan_wav(duration_s: float = 0.7) -> bytes:
    """A float wav in which one sample is no number (IEEE float format: WAVE format tag 3)."""
    import soundfile

    samples = Tone(440.0, duration_s=duration_s, sample_rate_hz=RATE_HZ).render()
    samples[len(samples) // 2] = np.nan
    written = io.BytesIO()
    soundfile.write(written, samples, RATE_HZ, format="WAV", subtype="FLOAT")
    return written.getvalue()


def encoded_tone(f0_hz: float, kind: str) -> bytes:
    """A tone as flac, mp3 or ogg."""
    import soundfile

    samples = Tone(f0_hz, duration_s=0.7, sample_rate_hz=44_100).render()
    written = io.BytesIO()
    soundfile.write(written, samples, 44_100, format=kind.upper())
    return written.getvalue()
