"""The window grid and the phase advance of single partials."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.coarse_pitch import find_pitches, make_coarse_frames
from analysis.recording.held_notes import HeldNote, find_held_notes
from analysis.recording.phase_vocoder import HarmonicTrack, lay_grid, track_harmonics
from analysis.recording.steady_part import find_steady_part
from tests.analysis.recording.tones import Tone


def _track(tone: Tone) -> HarmonicTrack:
    samples = tone.render()
    frames = make_coarse_frames(samples, tone.sample_rate_hz)
    held_note = find_held_notes(frames, find_pitches(frames))[0]
    grid = lay_grid(held_note, len(samples), tone.sample_rate_hz)
    assert grid is not None
    return track_harmonics(samples, held_note, grid)


@pytest.mark.parametrize("f0_hz", [50.0, 58.3, 110.0, 440.0, 1046.5, 2500.0])
@pytest.mark.parametrize("rate_hz", [8_000.0, 44_100.0, 192_000.0])
def test_windows_hold_whole_periods_at_least_five_and_45_ms(f0_hz: float, rate_hz: float) -> None:
    held_note = HeldNote(np.array([0.5]), np.array([f0_hz]), np.ones(1))
    grid = lay_grid(held_note, int(2 * rate_hz), rate_hz)
    assert grid is not None
    assert grid.periods >= 5
    assert grid.window_s > 0.0445
    assert grid.window_s * f0_hz == pytest.approx(grid.periods, rel=0.02)


def test_a_span_too_short_for_four_windows_has_no_grid() -> None:
    held_note = HeldNote(np.array([0.02]), np.array([440.0]), np.ones(1))
    assert lay_grid(held_note, 2500, 44_100.0) is None


@pytest.mark.parametrize("f0_hz", [73.4, 440.0, 1568.0])
def test_each_partial_advances_by_its_number_times_the_fundamental(f0_hz: float) -> None:
    track = _track(Tone(f0_hz, 1.0, snr_db=80.0, even_db=0.0))
    inside = (track.times_s > 0.3) & (track.times_s < 0.9)
    numbers = np.arange(1, track.advance.shape[1] + 1)
    off_hz = np.angle(track.advance[inside]) / (2 * np.pi * track.grid.hop_s * numbers)
    f0 = track.predicted_hz[inside][:, None] + off_hz
    cents = 1200 * np.log2(np.median(f0, axis=0) / f0_hz)
    assert np.abs(cents).max() < 0.1


def test_the_region_is_where_the_tone_sounds_and_its_steady_part_lies_inside() -> None:
    track = _track(Tone(440.0, 1.0, silence_s=0.4))
    steady_part = find_steady_part(track)
    assert steady_part is not None
    # the ends are 30 ms ramps, so a tenth of the level is passed within the ramp
    assert steady_part.sounds_from_s == pytest.approx(0.4, abs=0.03)
    assert steady_part.sounds_to_s == pytest.approx(1.4, abs=0.03)
    steady_s = track.times_s[steady_part.rows]
    assert steady_s[0] >= steady_part.sounds_from_s + 0.06
    assert steady_s[-1] <= steady_part.sounds_to_s - 0.06
