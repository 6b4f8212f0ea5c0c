"""Coarse frames joined into held notes."""

from __future__ import annotations

import numpy as np

from analysis.recording.coarse import CoarseFrames, CoarsePitch
from analysis.recording.runs import find_runs


def _find(*f0_hz: float | None, clarity: float = 0.9) -> list[list[float]]:
    pitches = [None if hz is None else CoarsePitch(hz, clarity) for hz in f0_hz]
    power = np.ones((len(pitches), 4))
    frames = CoarseFrames(np.arange(len(pitches)) * 0.093, power, 8192, 5.4, np.zeros(44_100))
    return [run.f0_hz.tolist() for run in find_runs(frames, pitches)]


def test_one_note_is_one_run() -> None:
    assert _find(440.0, 441.0, 440.5) == [[440.0, 441.0, 440.5]]


def test_the_longest_run_comes_first() -> None:
    assert _find(440.0, 440.0, 550.0, 550.0, 550.0) == [[550.0] * 3, [440.0] * 2]


def test_a_slow_slide_stays_one_run_and_a_leap_does_not() -> None:
    slide = [440.0 * 2 ** (cents / 1200) for cents in (0, 30, 60, 90)]
    assert len(_find(*slide)) == 1
    assert len(_find(440.0, 440.0 * 2 ** (60 / 1200))) == 2


def test_one_odd_frame_does_not_end_a_note() -> None:
    assert _find(440.0, 220.0, 440.0, 440.0)[0] == [440.0] * 3
    assert _find(440.0, None, 440.0, 440.0)[0] == [440.0] * 3


def test_two_missing_frames_do() -> None:
    assert len(_find(440.0, None, None, 440.0)) == 2


def test_unclear_frames_are_no_notes() -> None:
    assert _find(440.0, 440.0, clarity=0.1) == []
