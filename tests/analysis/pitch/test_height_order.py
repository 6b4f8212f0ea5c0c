"""Comparing pitches, and the refusal to mix the two kinds."""

import operator
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given

from analysis.pitch import SoundingPitch, WrittenPitch
from tests.analysis.pitch.strategies import sounding_pitches, written_pitches

WRITTEN = WrittenPitch.from_canonical("A4")
SOUNDING = SoundingPitch(6900.0)
OPERATIONS: list[Callable[[Any, Any], object]] = [
    operator.lt,
    operator.le,
    operator.gt,
    operator.ge,
    operator.eq,
    operator.ne,
    operator.sub,
    lambda first, second: first.interval_to(second),
]


@pytest.mark.parametrize("operation", OPERATIONS)
@pytest.mark.parametrize(("first", "second"), [(WRITTEN, SOUNDING), (SOUNDING, WRITTEN)])
def test_mixing_written_and_sounding_says_what_to_write(
    operation: Callable[[Any, Any], object], first: object, second: object
) -> None:
    with pytest.raises(TypeError, match=r"transposition\.to_sounding\(written\)"):
        operation(first, second)


@pytest.mark.parametrize("mine", [WRITTEN, SOUNDING])
@pytest.mark.parametrize("operation", [operator.lt, operator.sub])
def test_calculating_with_a_bare_number_says_what_to_write(
    operation: Callable[[Any, Any], object], mine: object
) -> None:
    with pytest.raises(TypeError, match=r"use the \.cents"):
        operation(mine, 6900)


@pytest.mark.parametrize("mine", [WRITTEN, SOUNDING])
def test_a_pitch_is_not_equal_to_a_bare_number(mine: object) -> None:
    assert mine != 6900


@given(written_pitches, written_pitches)
def test_written_pitches_are_ordered_by_height(first: WrittenPitch, second: WrittenPitch) -> None:
    assert (first < second) == (first.cents < second.cents)
    assert (first <= second) == (first.cents <= second.cents)
    assert (first > second) == (first.cents > second.cents)
    assert (first >= second) == (first.cents >= second.cents)


@given(sounding_pitches, sounding_pitches)
def test_sounding_pitches_are_ordered_by_height(
    first: SoundingPitch, second: SoundingPitch
) -> None:
    assert (first < second) == (first.cents < second.cents)
    assert (first >= second) == (first.cents >= second.cents)


def test_two_names_of_one_height_are_different_pitches() -> None:
    c_sharp, d_flat = (WrittenPitch.from_canonical(text) for text in ("C#5", "Db5"))
    assert c_sharp != d_flat
    assert c_sharp <= d_flat <= c_sharp


@given(written_pitches)
def test_equal_pitches_share_a_hash(written: WrittenPitch) -> None:
    twin = WrittenPitch(written.letter, written.alter_cents, written.octave)
    assert len({written, twin}) == 1
    assert hash(SoundingPitch(6900.0)) == hash(SOUNDING)
