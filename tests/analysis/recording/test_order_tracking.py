"""Bent time: notes whose pitch is known by formula stand still in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.recording.order_tracking import OrderTrackedNote, PitchProfile, track_orders
from tests.analysis.recording.tones import Tone

SPAN_S = (0.3, 1.2)
VIBRATO = Tone(440.0, 1.4, snr_db=90.0, vibrato_cents=30.0, even_db=0.0)


def _follow(tone: Tone, error_cents: float = 0.0) -> PitchProfile:
    times_s = np.arange(0.15, 1.4, 0.01)
    cents = tone.pitch_cents(times_s) + error_cents
    return PitchProfile(times_s, tone.f0_hz * 2 ** (cents / 1200))


def _make_still(tone: Tone, profile: PitchProfile, partials: int = 8) -> OrderTrackedNote:
    note = track_orders(tone.render(), tone.sample_rate_hz, profile, SPAN_S, partials=partials)
    assert note is not None
    return note


@pytest.mark.parametrize("f0_hz", [58.3, 147.0, 440.0, 932.0])
@pytest.mark.parametrize("rate_hz", [22_050.0, 48_000.0])
def test_all_partials_of_a_wide_vibrato_stand_still(f0_hz: float, rate_hz: float) -> None:
    tone = replace(VIBRATO, f0_hz=f0_hz, sample_rate_hz=rate_hz)
    note = _make_still(tone, _follow(tone))
    phases = np.unwrap(np.angle(note.phasors), axis=0)
    # a cubic between samples is true enough up to a fifth of the rate
    is_low = np.arange(1, 9) * f0_hz < 0.2 * rate_hz
    # one radian of partial 8 would be 0.02 turns of the fundamental
    assert np.ptp(phases, axis=0)[is_low].max() < 0.1


def test_amplitudes_come_out_as_they_went_in() -> None:
    tone = replace(VIBRATO, vibrato_cents=0.0)
    levels = 10 ** (tone.partial_levels_db() / 20)
    amplitudes = levels * tone.rms / np.sqrt(0.5 * np.sum(levels**2))
    shown = np.abs(_make_still(tone, _follow(tone)).phasors).mean(axis=0)
    assert shown == pytest.approx(amplitudes[:8], rel=0.02)


@pytest.mark.parametrize("error_cents", [-8.0, 5.0])
def test_what_the_course_missed_turns_each_partial_by_its_number(error_cents: float) -> None:
    note = _make_still(VIBRATO, _follow(VIBRATO, error_cents))
    turned = np.diff(np.unwrap(np.angle(note.phasors), axis=0), axis=0).mean(axis=0)
    per_partial = turned / (2 * np.pi * note.turns * np.arange(1, 9))
    assert 1200 * np.log2(1 + per_partial) == pytest.approx(-error_cents, abs=0.1)


def test_windows_hold_whole_turns_and_fill_the_span() -> None:
    note = _make_still(VIBRATO, _follow(VIBRATO))
    assert note.times_s[0] == pytest.approx(SPAN_S[0], abs=note.hop_s)
    assert note.times_s[-1] == pytest.approx(SPAN_S[1], abs=note.hop_s)
    turns = np.interp(note.times_s, _follow(VIBRATO).times_s, _follow(VIBRATO).count_turns())
    assert np.diff(turns) == pytest.approx(note.turns, abs=0.01)


def test_a_span_of_fewer_than_eight_windows_has_no_still_note() -> None:
    tone = VIBRATO
    samples = tone.render()
    found = track_orders(samples, tone.sample_rate_hz, _follow(tone), (0.5, 0.55), partials=4)
    assert found is None


def test_a_long_note_is_read_in_blocks_as_in_one() -> None:
    tone = Tone(110.0, 12.0, snr_db=40.0, wander_cents=2.0)
    times_s = np.arange(0.15, 12.0, 0.01)
    profile = PitchProfile(times_s, tone.f0_hz * 2 ** (tone.pitch_cents(times_s) / 1200))
    samples = tone.render()
    whole = track_orders(samples, tone.sample_rate_hz, profile, (0.3, 11.8), partials=6)
    assert whole is not None
    assert len(whole.phasors) * 800 > 2 * 200_000  # more than two blocks of samples
    at = len(whole.times_s) // 2
    near = (float(whole.times_s[at]) - 0.2, float(whole.times_s[at]) + 0.2)
    part = track_orders(samples, tone.sample_rate_hz, profile, near, partials=6)
    assert part is not None
    shared = np.interp(part.times_s, whole.times_s, np.abs(whole.phasors[:, 0]))
    assert np.abs(part.phasors[:, 0]) == pytest.approx(shared, rel=0.01)
