"""Coarse frames joined into held notes."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.coarse_pitch import (
    CoarseFrames,
    CoarsePitches,
    find_pitches,
    make_coarse_frames,
)
from analysis.recording.held_notes import find_held_notes
from tests.analysis.recording.tones import Tone


def _find(*f0_hz: float | None, clarity: float = 0.9) -> list[list[float]]:
    count = len(f0_hz)
    pitches = CoarsePitches(np.array(f0_hz, dtype=float), np.full(count, clarity))
    power = np.ones((count, 4))
    frames = CoarseFrames(np.arange(count) * 0.093, power, 8192, 5.4, np.zeros(44_100))
    return [held_note.f0_hz.tolist() for held_note in find_held_notes(frames, pitches)]


def _bend(*cents: float) -> list[float]:
    return [220.0 * 2 ** (each / 1200) for each in cents]


def test_one_note_is_one_run() -> None:
    assert _find(220.0, 221.0, 220.5) == [[220.0, 221.0, 220.5]]


def test_the_longest_run_comes_first() -> None:
    assert _find(220.0, 220.0, 275.0, 275.0, 275.0) == [[275.0] * 3, [220.0] * 2]


def test_a_slow_slide_stays_one_run_and_a_leap_does_not() -> None:
    assert len(_find(*_bend(0, 30, 60, 90))) == 1
    assert len(_find(*_bend(0, 60))) == 2


def test_frames_above_and_below_by_turns_are_one_note() -> None:
    assert len(_find(*_bend(-35, 35, -30, 40, -35, 30))) == 1


def test_a_step_up_there_and_back_or_by_more_than_a_semitone_is_no_vibrato() -> None:
    assert len(_find(*_bend(0, 0, 0, 50, 50, 50))) == 2
    assert len(_find(*_bend(0, 0, 0, 50, 50, 50, 0, 0, 0))) == 3
    assert len(_find(*_bend(0, 120, 0, 120, 0, 120))) == 2


def test_a_high_note_is_followed_each_10_ms_from_its_first_frame_to_its_last() -> None:
    tone = Tone(1568.0, 2.0, vibrato_cents=40.0, partial_db={1: -90.0}, snr_db=25.0)
    frames = make_coarse_frames(tone.render(), tone.sample_rate_hz)
    held_note = find_held_notes(frames, find_pitches(frames))[0]
    assert np.diff(held_note.times_s) == pytest.approx(0.01)
    assert set(held_note.times_s[[0]]) <= set(frames.centres_s)
    held = (held_note.times_s > 0.15) & (held_note.times_s < 2.05)
    off = 1200 * np.log2(held_note.f0_hz / tone.f0_hz) - tone.pitch_cents(
        held_note.times_s.astype(np.float64)
    )
    assert np.abs(off[held]).max() < 6.0


def test_one_odd_frame_does_not_end_a_note() -> None:
    assert _find(220.0, 110.0, 220.0, 220.0)[0] == [220.0] * 3
    assert _find(220.0, None, 220.0, 220.0)[0] == [220.0] * 3


def test_two_missing_frames_do() -> None:
    assert len(_find(220.0, None, None, 220.0)) == 2


def test_unclear_frames_are_no_notes() -> None:
    assert _find(220.0, 220.0, clarity=0.1) == []
