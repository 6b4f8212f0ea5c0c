"""The contour against tones known by formula."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.pitch_contour import trace_contour
from tests.analysis.recording.sounds import RATE, Played, play
from tests.analysis.recording.tones import Tone, make_noise


@pytest.mark.parametrize("f0_hz", [58.3, 146.8, 440.0, 1244.5, 2400.0])
@pytest.mark.parametrize("rate_hz", [8_000.0, 44_100.0, 96_000.0])
def test_pitch_is_followed_to_a_few_cents(f0_hz: float, rate_hz: float) -> None:
    tone = Tone(f0_hz, 0.6, rate_hz, drift_cents=20.0, snr_db=30.0)
    contour = trace_contour(tone.render(), rate_hz)
    inside = (contour.times_s > 0.2) & (contour.times_s < 0.6)
    cents = (
        1200 * np.log2(contour.f0_hz[inside] / f0_hz)
        - tone.pitch_cents(np.asarray(contour.times_s, dtype=np.float64))[inside]
    )
    assert np.abs(cents).max() < 10


def test_level_is_the_rms_of_the_tone() -> None:
    contour = trace_contour(Tone(440.0, 1.0, rms=0.2).render(), 44_100.0)
    assert np.median(contour.level) == pytest.approx(0.2, rel=0.1)


def test_noise_and_silence_have_no_pitch() -> None:
    for samples in (np.zeros(RATE), make_noise(RATE, np.random.default_rng(1))):
        assert np.isnan(trace_contour(samples, RATE).f0_hz).mean() > 0.99


def test_a_recording_shorter_than_one_window_has_no_rows() -> None:
    assert trace_contour(np.zeros(100), RATE).times_s.size == 0


def test_progress_rises_to_one() -> None:
    shares: list[float] = []
    trace_contour(play([Played(440.0, 20.0)]), RATE, progress=shares.append)
    assert shares == sorted(shares) and shares[-1] == 1.0 and len(shares) > 2
