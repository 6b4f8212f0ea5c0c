"""Real clarinet notes against Praat's autocorrelation method, an estimator of another kind.

Source of the method: Boersma, "Accurate short-term analysis of the fundamental frequency", 1993,
through praat-parselmouth. Of the recordings: `tests/recordings.py` (CC-BY-3.0).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import parselmouth
import pytest

from analysis.recording import TakeMeasurement, decode_clip, measure_take
from tests import recordings
from tests.tools import report_missing

pytestmark = pytest.mark.real_recordings


@pytest.fixture(scope="module")
def differences_cents() -> dict[str, float]:
    notes = recordings.find()
    if not notes:
        report_missing("real recordings not fetched: run the test command")
    return {note.stem: _compare(note) for note in notes}


def _compare(note: Path) -> float:
    clip = decode_clip(note)
    take = measure_take(clip.samples, clip.sample_rate_hz)
    assert take.is_usable, f"{note.stem}: {take.verdict}"
    assert take.f0_hz is not None
    praat_hz = _measure_with_praat(clip.samples.astype(np.float64), clip.sample_rate_hz, take)
    return float(1200 * np.log2(take.f0_hz / praat_hz))


def _measure_with_praat(samples: np.ndarray, rate_hz: float, take: TakeMeasurement) -> float:
    pitch = parselmouth.Sound(samples, rate_hz).to_pitch_ac(
        time_step=0.01, pitch_floor=60.0, pitch_ceiling=2000.0, very_accurate=True
    )
    times_s, f0_hz = pitch.xs(), pitch.selected_array["frequency"]
    assert take.steady_from_s is not None and take.steady_to_s is not None
    inside = (times_s >= take.steady_from_s) & (times_s <= take.steady_to_s) & (f0_hz > 0)
    return float(np.median(f0_hz[inside]))


def test_every_note_is_usable_and_none_is_grossly_off(differences_cents: dict[str, float]) -> None:
    assert len(differences_cents) == recordings.NOTE_COUNT
    gross = {name: cents for name, cents in differences_cents.items() if abs(cents) > 1.0}
    assert gross == {}


def test_the_median_difference_is_under_a_tenth_of_a_cent(
    differences_cents: dict[str, float],
) -> None:
    assert np.median(np.abs(list(differences_cents.values()))) < 0.1
