"""Low notes over mains hum, some of whose partials lie within 3 Hz of the note's.

Levels in dB against the note's RMS. Mains lie within 0.2% of 50 or 60 Hz (common knowledge, from
memory); rectified they hum at the double.
"""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording import TakeMeasurement, TakeWarning, Verdict, measure_take
from analysis.recording.coarse_pitch import find_pitches, make_coarse_frames
from tests.analysis.recording.sounds import RATE, hum
from tests.analysis.recording.tones import Samples, Tone
from tests.thinning import each_daily

MAINS_HZ = (49.98, 60.02, 100.0, 119.9)
# some lie within 2 Hz of the mains or twice that: 61.7, 98, 118.5; and 99 Hz nearly at twice 50
NOTES_HZ = (58.3, 61.7, 73.4, 92.5, 98.0, 99.0, 118.5, 146.8)


def _play(f0_hz: float, mains_hz: float, db: float, kind: str) -> tuple[Tone, Samples]:
    tone = Tone(f0_hz, 1.5, wander_cents=0.8, snr_db=50.0, seed=round(10 * f0_hz))
    samples = tone.render()
    return tone, samples + hum(len(samples), mains_hz, tone.rms * 10 ** (db / 20), kind)


def _find_error_cents(tone: Tone, take: TakeMeasurement) -> float:
    assert take.f0_hz is not None
    assert take.steady_from_s is not None and take.steady_to_s is not None
    true_hz = tone.true_median_hz(take.steady_from_s, take.steady_to_s)
    return float(1200 * np.log2(take.f0_hz / true_hz))


@pytest.mark.parametrize(
    ("kind", "mains_hz", "f0_hz"), each_daily(["pure", "odd", "buzz"], MAINS_HZ, NOTES_HZ)
)
def test_a_note_over_hum_of_a_tenth_of_it_is_measured(
    f0_hz: float, mains_hz: float, kind: str
) -> None:
    tone, samples = _play(f0_hz, mains_hz, -20.0, kind)
    take = measure_take(samples, RATE)
    assert take.is_usable, take.verdict
    assert abs(_find_error_cents(tone, take)) < 1.5


@pytest.mark.parametrize(
    ("kind", "mains_hz", "f0_hz"), each_daily(["pure", "odd", "buzz"], MAINS_HZ, NOTES_HZ)
)
def test_over_louder_hum_it_is_measured_or_refused(
    f0_hz: float, mains_hz: float, kind: str
) -> None:
    tone, samples = _play(f0_hz, mains_hz, -12.0, kind)
    take = measure_take(samples, RATE)
    assert not take.is_usable or abs(_find_error_cents(tone, take)) < 5.0
    assert take.verdict is not Verdict.MULTIPHONIC


@pytest.mark.parametrize(("f0_hz", "mains_hz"), each_daily(NOTES_HZ[1:], MAINS_HZ))
def test_over_hum_of_half_of_it_no_gross_error_goes_unnamed(f0_hz: float, mains_hz: float) -> None:
    tone, samples = _play(f0_hz, mains_hz, -6.0, "odd")
    take = measure_take(samples, RATE)
    is_named = TakeWarning.MAINS_HUM in take.warnings
    assert not take.is_usable or is_named or abs(_find_error_cents(tone, take)) < 5.0


@pytest.mark.parametrize(
    ("f0_hz", "kind"), each_daily([99.0, 99.6, 100.4, 119.4], ["pure", "odd", "buzz"])
)
def test_hum_at_half_of_a_pitch_makes_no_octave(f0_hz: float, kind: str) -> None:
    for db in (-20.0, -12.0, -6.0):
        _, samples = _play(f0_hz, 50.0 if f0_hz < 110 else 60.0, db, kind)
        found_hz = find_pitches(make_coarse_frames(samples, RATE)).f0_hz[2:-2]
        off = 1200 * np.log2(found_hz[~np.isnan(found_hz)] / f0_hz)
        assert len(off) > 5 and np.abs(off).max() < 50


@pytest.mark.parametrize("f0_hz", [50.0, 60.0, 100.0, 120.0, 150.0, 240.0, 300.0])
def test_a_note_that_lies_where_hum_does_keeps_its_pitch(f0_hz: float) -> None:
    tone = Tone(f0_hz, 1.5, wander_cents=0.8)
    take = measure_take(tone.render(), RATE)
    assert take.is_usable
    assert abs(_find_error_cents(tone, take)) < 0.5
