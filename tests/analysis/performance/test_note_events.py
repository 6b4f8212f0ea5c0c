"""Segmentation of quick notes: by pitch, by the tongue, and what makes no note."""

import numpy as np

from analysis.performance import find_note_events
from tests.analysis.performance.performances import RATE, Samples, Sounding, make_passage, perform


def _tone(steps: list[tuple[float, float]], *, vibrato_cents: float = 0.0) -> Samples:
    """A tone of (cents over 440 Hz, seconds) after another, without a gap."""
    cents = np.concatenate([np.full(round(RATE * length), each) for each, length in steps])
    time_s = np.arange(len(cents)) / RATE
    cents = cents + vibrato_cents * np.sin(2 * np.pi * 5.5 * time_s)
    turns = np.cumsum(440.0 * 2 ** (cents / 1200)) / RATE
    return np.asarray(sum(np.sin(2 * np.pi * k * turns) / k for k in (1, 3, 5)) * 0.1)


def test_slurred_steps_of_a_quarter_tone_are_found_at_their_time() -> None:
    tone = _tone([(0, 0.12), (50, 0.12), (100, 0.12), (50, 0.3)])
    events = find_note_events(tone, RATE, lowest_hz=440, least_step_cents=50)
    assert [round((each.height_cents - 6900) / 50) for each in events] == [0, 1, 2, 1]
    assert np.allclose([each.from_s for each in events[1:]], (0.12, 0.24, 0.36), atol=0.012)


def test_vibrato_makes_no_notes() -> None:
    tone = _tone([(0, 1.0), (100, 1.0)], vibrato_cents=25)
    assert len(find_note_events(tone, RATE, lowest_hz=440)) == 2


def test_a_note_of_the_same_pitch_is_told_apart_by_a_dip() -> None:
    tone = _tone([(0, 1.0)])
    tone[round(0.5 * RATE) : round(0.53 * RATE)] *= 0.3
    events = find_note_events(tone, RATE, lowest_hz=440)
    assert len(events) == 2
    assert events[1].dip_db > 4


def test_silence_and_noise_hold_no_note() -> None:
    noise = 1e-3 * np.random.default_rng(1).standard_normal(RATE)
    assert find_note_events(noise, RATE, lowest_hz=440) == ()
    assert find_note_events(np.zeros(RATE), RATE, lowest_hz=440) == ()
    assert find_note_events(np.zeros(10), RATE, lowest_hz=440) == ()


def test_a_pitch_too_short_or_too_unsteady_to_know_carries_no_figure() -> None:
    passage = make_passage(3, count=12, tempo=160)
    played = perform(passage, 3, sounding=Sounding(vibrato_cents=60.0))
    events = find_note_events(played.samples, RATE, lowest_hz=150)
    assert any(each.uncertainty_cents is None for each in events)
    short = find_note_events(_tone([(0, 0.06), (300, 0.5)]), RATE, lowest_hz=440)
    assert short[0].uncertainty_cents is None
    assert short[-1].uncertainty_cents is not None
