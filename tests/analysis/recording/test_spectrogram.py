"""Levels for the eye: lines where tones are. Truth: the frequencies and times put in."""

import numpy as np
import pytest

from analysis.recording.spectrogram import FLOOR_DB, View, find_levels

RATE_HZ = 48_000


def tone(f0_hz: float, duration_s: float = 1.0, level: float = 0.5) -> np.ndarray:
    time_s = np.arange(round(duration_s * RATE_HZ)) / RATE_HZ
    return level * np.sin(2 * np.pi * f0_hz * time_s)


def row_hz(view: View, row: int, rows: int = 240) -> float:
    """The frequency in the middle of a row; rows are equal intervals from high to low."""
    return float(view.high_hz * (view.low_hz / view.high_hz) ** ((row + 0.5) / rows))


@pytest.mark.parametrize("f0_hz", [147.0, 440.0, 1864.0])
def test_a_tone_is_the_darkest_line_at_its_pitch(f0_hz: float) -> None:
    view = View(0.1, 0.9, 60.0, 8000.0)
    levels = find_levels(tone(f0_hz), RATE_HZ, view)
    loudest = np.argmax(levels, axis=0)
    bin_hz = RATE_HZ / 4096  # the window is at most 4096 samples here
    assert np.ptp(loudest) <= 1
    assert row_hz(view, int(loudest[300])) == pytest.approx(f0_hz, abs=2 * bin_hz)
    assert levels.max() == pytest.approx(0.0, abs=1e-4)


def test_a_tone_stands_where_it_sounds() -> None:
    sound = np.concatenate([np.zeros(RATE_HZ), tone(440.0), np.zeros(RATE_HZ)])
    levels = find_levels(sound, RATE_HZ, View(0.0, 3.0, 100.0, 4000.0), columns=300)
    heard = np.flatnonzero(levels.max(axis=0) > -20)
    assert heard[0] == pytest.approx(100, abs=5)
    assert heard[-1] == pytest.approx(199, abs=5)


def test_a_tone_a_tenth_as_loud_lies_20_db_lower() -> None:
    sound = tone(440.0) + tone(1760.0, level=0.05)
    levels = find_levels(sound, RATE_HZ, View(0.2, 0.8, 200.0, 4000.0))
    upper = levels[: levels.shape[0] // 2]
    assert upper.max() == pytest.approx(-20.0, abs=1.0)


def test_silence_and_what_lies_outside_the_recording_are_floor() -> None:
    view = View(0.0, 1.0, 100.0, 4000.0)
    assert set(np.unique(find_levels(np.zeros(RATE_HZ), RATE_HZ, view))) == {FLOOR_DB}
    beyond = find_levels(tone(440.0), RATE_HZ, View(0.5, 2.5, 100.0, 4000.0), columns=100)
    assert beyond[:, 40:].max() == FLOOR_DB
    above = find_levels(tone(440.0), 8_000, View(0.0, 1.0, 5000.0, 8000.0))
    assert above.max() == FLOOR_DB


def test_ten_minutes_have_as_many_dots_as_a_second() -> None:
    sound = np.tile(tone(440.0).astype(np.float32), 60)
    levels = find_levels(sound, RATE_HZ, View(0.0, 60.0, 100.0, 4000.0), columns=50, rows=20)
    assert levels.shape == (20, 50)
    assert levels.max() == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(
    "span", [(1.0, 1.0, 100.0, 200.0), (0.0, 1.0, 0.0, 200.0), (0.0, 1.0, 300.0, 200.0)]
)
def test_a_view_needs_a_length_and_a_height(span: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="a length and a height"):
        View(*span)
