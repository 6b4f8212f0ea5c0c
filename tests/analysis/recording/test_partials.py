"""Partials and what lies between them, read along a pitch curve."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.partials import MOST_WINDOWS, PartialReadings, read_partials
from analysis.recording.pitch_curve import PitchCurve
from analysis.recording.vibrato import PitchMotion

RATE = 44_100.0
AMPLITUDES = (0.2, 0.01, 0.05, 0.002)


def _read(
    f0_hz: float, *, length_s: float = 2.0, drift_cents_per_s: float = 0.0
) -> PartialReadings:
    """Four partials that drift evenly, without noise, along their true curve."""
    time_s = np.arange(round(length_s * RATE)) / RATE
    bend = np.log(2) / 1200 * drift_cents_per_s
    turns = f0_hz * (np.expm1(bend * time_s) / bend if bend else time_s)
    samples = sum(
        a * np.sin(2 * np.pi * number * turns) for number, a in enumerate(AMPLITUDES, start=1)
    )
    times_s = np.arange(0.1, length_s - 0.1, 0.01)
    cents = drift_cents_per_s * times_s
    motion = PitchMotion(drift_cents_per_s, None, cents)
    return read_partials(np.asarray(samples), RATE, PitchCurve(times_s, cents, f0_hz, 0.01, motion))


@pytest.mark.parametrize("f0_hz", [58.27, 146.8, 440.0, 1244.5])
@pytest.mark.parametrize("drift_cents_per_s", [0.0, 30.0])
def test_partials_show_their_own_power_and_weak_ones_are_not_hidden(
    f0_hz: float, drift_cents_per_s: float
) -> None:
    power = _read(f0_hz, drift_cents_per_s=drift_cents_per_s).power.mean(axis=0)
    found_db = 10 * np.log10(power[:4])
    assert found_db == pytest.approx(20 * np.log10(AMPLITUDES), abs=0.1)


@pytest.mark.parametrize("f0_hz", [58.27, 146.8, 440.0, 1244.5])
def test_still_partials_leave_nothing_between_them(f0_hz: float) -> None:
    # a window of whole samples misses whole periods by half a sample at most
    readings = _read(f0_hz)
    between_db = 10 * np.log10(readings.noise.mean(axis=0) / np.sum(np.square(AMPLITUDES)))
    assert between_db.max() < -75.0


def test_windows_hold_at_least_five_periods_and_45_ms() -> None:
    assert [_read(hz).periods for hz in (58.27, 440.0, 1244.5)] == [5, 20, 57]


def test_a_long_take_is_read_in_no_more_windows() -> None:
    short, long = (_read(440.0, length_s=length_s) for length_s in (0.6, 30.0))
    assert len(short.power) < MOST_WINDOWS
    assert len(long.power) == MOST_WINDOWS
    assert long.power.mean(axis=0)[0] == pytest.approx(AMPLITUDES[0] ** 2, rel=0.01)
