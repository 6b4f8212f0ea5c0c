"""Chromium's fake microphone: flags for one that plays a file, and for those that fail."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from tests.analysis.recording.tones import Tone

# The prompt is answered with yes; no sound card is looked for.
GRANTED = ("--use-fake-ui-for-media-stream", "--autoplay-policy=no-user-gesture-required")
REFUSED = ("--use-fake-device-for-media-stream", "--deny-permission-prompts")
MISSING = ("--use-fake-ui-for-media-stream",)
RATE_HZ = 44_100  # of the fake device: other files it would resample
ROOM = 10 ** (-75 / 20)


def playing(wav: Path) -> tuple[str, ...]:
    """Flags for a microphone that hears `wav` once, from the moment it is opened."""
    return (
        *GRANTED,
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={wav}%noloop",
    )


def write_notes(
    path: Path,
    frequencies_hz: Sequence[float],
    *,
    first_s: float = 1.5,
    note_s: float = 0.7,
    rest_s: float = 0.5,
    after_s: float = 4.0,
    gain: float = 1.0,
    seed: int = 1,
) -> NDArray[np.float32]:
    """Write clarinet-like notes in a quiet room; what is beyond full scale is cut off.

    16 bits, as the fake microphone takes them; returned are the samples as they are in the file.
    """

    def silence(duration_s: float) -> NDArray[np.float64]:
        return np.zeros(round(duration_s * RATE_HZ))

    parts = [silence(first_s)]
    for number, f0_hz in enumerate(frequencies_hz):
        note = Tone(f0_hz, duration_s=note_s, sample_rate_hz=RATE_HZ, seed=seed + number)
        parts += [gain * np.asarray(note.render()), silence(rest_s)]
    sound = np.concatenate([*parts, silence(after_s)])
    sound += ROOM * np.random.default_rng(seed).standard_normal(len(sound))
    whole = np.round(np.clip(sound, -1, 1) * 32767).astype(np.int16)
    soundfile.write(path, whole, RATE_HZ, subtype="PCM_16")
    samples, _ = soundfile.read(path, dtype="float32")
    return np.asarray(samples, dtype=np.float32)
