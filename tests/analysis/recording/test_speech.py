"""Talk is told from notes: made talk of several voices, and what merely resembles it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.recording.pitch_contour import trace_contour
from analysis.recording.speech import find_speech, is_speech
from tests.analysis.recording.sounds import RATE, Played, play, speak
from tests.analysis.recording.tones import Tone, make_noise

Samples = NDArray[np.float64]
CHROMATIC = [Played(220 * 2 ** (k % 12 / 12), 0.125, 0.0 if k else 0.3) for k in range(24)]
QUARTERS = [Played(220 * 2 ** (k / 24), 0.15, 0.0 if k else 0.3) for k in range(24)]
TONGUED = [Played(220 * 2 ** (k / 12), 0.13, 0.03) for k in range(24)]


@pytest.mark.parametrize("voice_hz", [95.0, 120.0, 200.0, 280.0])
@pytest.mark.parametrize("seed", range(4))
def test_talk_is_talk(voice_hz: float, seed: int) -> None:
    assert is_speech(trace_contour(speak(seed, voice_hz=voice_hz), RATE))


@pytest.mark.parametrize(
    "clip",
    [
        play(CHROMATIC),  # slurred
        play(QUARTERS),
        play(TONGUED),
        np.concatenate([Tone(150.0, 1.0, vibrato_cents=40.0, seed=s).render() for s in range(4)]),
        np.concatenate([Tone(200.0, 0.4, scoop_cents=80.0, seed=s).render() for s in range(6)]),
        np.concatenate([Tone(300.0, 1.5, drift_cents=40.0).render() for _ in range(3)]),
        0.1 * make_noise(2 * RATE, np.random.default_rng(1)),
        np.concatenate([speak(3, seconds=1.0), Tone(300.0, 4.0).render()]),  # mostly a note
        np.zeros(100),
    ],
)
def test_notes_and_noise_are_no_talk(clip: Samples) -> None:
    assert not is_speech(trace_contour(clip, RATE))


def test_talk_between_notes_is_found_where_it_is() -> None:
    note = play([Played(440.0, 2.0)])
    clip = np.concatenate([note, speak(5), note])
    contour = trace_contour(clip, RATE)
    is_talk = find_speech(contour)
    first_s, last_s = len(note) / RATE, (len(clip) - len(note)) / RATE
    inside = (contour.times_s > first_s) & (contour.times_s < last_s)
    assert is_talk[inside].mean() > 0.8
    assert not is_talk[(contour.times_s < first_s - 0.5) | (contour.times_s > last_s + 0.8)].any()
