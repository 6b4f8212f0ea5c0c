"""Sounding pitch, hertz, and transposition."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    KINDS,
    PitchOutOfRange,
    Side,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
)
from tests.analysis.pitch.strategies import millicents, sounding_pitches, tunings

A440 = Tuning(440.0)

# Equal temperament at A4 = 440 Hz (ISO 16), frequencies to 0.001 Hz as in any handbook table:
# from memory, and each follows from 440 x 2^((n - 69) / 12).
HANDBOOK_HZ = {
    "E3": 164.814, "C4": 261.626, "C#4": 277.183, "D4": 293.665, "Eb4": 311.127, "E4": 329.628,
    "F4": 349.228, "F#4": 369.994, "G4": 391.995, "G#4": 415.305, "A4": 440.000, "Bb4": 466.164,
    "B4": 493.883, "C5": 523.251, "G6": 1567.982, "C7": 2093.005,
}  # fmt: skip


@pytest.mark.parametrize(("name", "hz"), HANDBOOK_HZ.items())
def test_equal_temperament_agrees_with_the_handbook_table(name: str, hz: float) -> None:
    sounding = Transposition(0).to_sounding(WrittenPitch.from_canonical(name))
    assert sounding.hz(A440) == pytest.approx(hz, abs=0.0006)


# A tuner calibrated a quarter tone low: x 2^(-50/1200), common practice, from memory.
@pytest.mark.parametrize(("a4_hz", "lowered_hz"), [(440.0, 427.47), (442.0, 429.42)])
def test_a_quarter_tone_below_the_tuning_note(a4_hz: float, lowered_hz: float) -> None:
    assert SoundingPitch(6850.0).hz(Tuning(a4_hz)) == pytest.approx(lowered_hz, abs=0.006)


@given(sounding_pitches, tunings)
def test_hertz_there_and_back_stay_within_a_millionth_of_a_cent(
    sounding: SoundingPitch, tuning: Tuning
) -> None:
    back = SoundingPitch.from_hz(sounding.hz(tuning), tuning)
    assert back.cents == pytest.approx(sounding.cents, abs=1e-6)


@given(tunings)
def test_the_tuning_note_is_a4_in_every_tuning(tuning: Tuning) -> None:
    assert SoundingPitch.from_hz(tuning.a4_hz, tuning).cents == 6900.0
    assert SoundingPitch(6900.0).hz(tuning) == tuning.a4_hz


@pytest.mark.parametrize("hz", [0.0, -1.0, math.nan, math.inf])
def test_what_is_no_frequency_is_refused(hz: float) -> None:
    with pytest.raises(PitchOutOfRange, match="is no frequency"):
        SoundingPitch.from_hz(hz, A440)


@pytest.mark.parametrize("cents", [-2400.1, 14400.1, math.nan, math.inf])
def test_heights_that_cannot_be_played_are_refused(cents: float) -> None:
    with pytest.raises(PitchOutOfRange, match="can be played"):
        SoundingPitch(cents)


@given(sounding_pitches, sounding_pitches)
def test_interval_and_difference_agree(first: SoundingPitch, second: SoundingPitch) -> None:
    assert first.interval_to(second) == second - first == second.cents - first.cents


@given(millicents, st.sampled_from(sorted(KINDS)), st.sampled_from(Side))
def test_transposition_there_and_back_gives_the_same_note(
    cents: Fraction, kind_id: str, side: Side
) -> None:
    transposition = KINDS[kind_id].transposition
    written = WrittenPitch.from_cents(cents, side)
    assert transposition.to_written(transposition.to_sounding(written), side) == written


def test_every_writable_note_sounds_on_every_instrument() -> None:
    lowest, highest = WrittenPitch("C", Fraction(-250), 0), WrittenPitch("B", Fraction(250), 9)
    for kind in KINDS.values():
        low, high = map(kind.transposition.to_sounding, (lowest, highest))
        assert low < high
