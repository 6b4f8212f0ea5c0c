"""Sounds whose lines belong to no one note: no pitch is told that is not there."""

from __future__ import annotations

import zlib

import numpy as np
import pytest

from analysis.recording import Verdict, measure_take
from analysis.recording.coarse_pitch import make_coarse_frames
from analysis.recording.harmonicity import is_doubtful, is_of_several
from tests.analysis.recording.kinds import KINDS
from tests.analysis.recording.sounds import RATE
from tests.analysis.recording.tones import Tone


@pytest.mark.parametrize(
    ("kind", "seed", "at"),
    [
        ("multiphonic", 11, 2),  # 3 to 7, with a common part
        ("multiphonic", 11, 26),  # 3 to 5, and neither exactly
        ("multiphonic", 11, 63),  # 3 to 8, hardly a partial between
        ("struck metal", 11, 22),  # the strongest line at twice another
        ("struck metal", 11, 97),  # the strongest line is low, the rest at gaps
        ("struck metal", 12, 54),  # odd ones of a series that is not there
        ("struck metal", 12, 86),  # two lines that beat as a flutter does
        ("high-passed", 11, 37),  # half of its lines lie off the pitch
    ],
)
def test_what_was_once_told_a_pitch_is_refused_or_told_rightly(
    kind: str, seed: int, at: int
) -> None:
    sound = KINDS[kind](np.random.default_rng([seed, zlib.crc32(kind.encode()), at]))
    take = measure_take(sound.samples, RATE)
    if take.f0_hz is None:
        assert take.verdict in (Verdict.MULTIPHONIC, Verdict.NO_CLEAR_PITCH, Verdict.NOISE)
        return
    assert take.steady_from_s is not None and take.steady_to_s is not None
    there_hz = sound.find_pitches_hz(take.steady_from_s, take.steady_to_s)
    assert min(abs(1200 * np.log2(take.f0_hz / hz)) for hz in there_hz) < 50


def test_one_partial_of_a_plate_that_drowns_the_others_is_its_pitch() -> None:
    time_s = np.arange(2 * RATE) / RATE
    plate = np.sin(2 * np.pi * 1228.0 * time_s) + 0.05 * np.sin(2 * np.pi * 1790.0 * time_s)
    take = measure_take(0.1 * plate, RATE)
    assert take.f0_hz == pytest.approx(1228.0, rel=1e-4)


@pytest.mark.parametrize("f0_hz", [61.0, 146.8, 440.0, 1568.0])
@pytest.mark.parametrize("vibrato_cents", [0.0, 30.0])
def test_a_held_note_leaves_no_doubt(f0_hz: float, vibrato_cents: float) -> None:
    tone = Tone(f0_hz, 1.5, vibrato_cents=vibrato_cents, snr_db=40.0)
    samples = tone.render()
    take = measure_take(samples, tone.sample_rate_hz)
    frames = make_coarse_frames(samples, tone.sample_rate_hz)
    assert take.is_usable
    assert not is_doubtful(take, frames)


def test_a_second_note_as_loud_speaks_against_a_pitch() -> None:
    one, other = (Tone(hz, 1.5, snr_db=60.0).render() for hz in (220.0, 311.0))
    take = measure_take(one, RATE)
    assert not is_of_several(take, make_coarse_frames(one, RATE))
    assert is_of_several(take, make_coarse_frames(one + other, RATE))
