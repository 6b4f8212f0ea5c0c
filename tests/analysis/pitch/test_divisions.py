"""Equal divisions of the octave."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import EqualDivision, PitchOutOfRange, Side, WrittenPitch
from tests.analysis.pitch.strategies import exact_heights

divisions = st.builds(EqualDivision, st.integers(min_value=1, max_value=1200))


def pitch(text: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(text)


# 1200 / n, closed formula.
@pytest.mark.parametrize(
    ("steps", "cents"),
    [(12, Fraction(100)), (24, Fraction(50)), (48, Fraction(25)), (72, Fraction(50, 3))],
)
def test_a_step_is_the_octave_in_equal_parts(steps: int, cents: Fraction) -> None:
    assert EqualDivision(steps).step_cents == cents


@pytest.mark.parametrize("steps", [0, -12, 1201])
def test_impossible_divisions_are_refused(steps: int) -> None:
    with pytest.raises(PitchOutOfRange, match="Give 1 to 1200"):
        EqualDivision(steps)


@given(divisions, exact_heights)
def test_the_nearest_step_is_a_step_within_half_a_step(
    division: EqualDivision, cents: Fraction
) -> None:
    nearest = division.nearest(cents)
    assert ((nearest - 6900) / division.step_cents).denominator == 1
    assert abs(nearest - cents) <= division.step_cents / 2
    assert division.nearest(nearest) == nearest


def test_halfway_between_two_steps_the_upper_is_taken() -> None:
    assert EqualDivision(24).nearest(7325) == 7350
    assert EqualDivision(24).nearest(7325.0) == 7350


def test_quarter_tones_between_two_notes_include_both() -> None:
    steps = EqualDivision(24).between(pitch("C5"), pitch("D5"))
    assert [step.canonical for step in steps] == ["C5", "C5+50c", "C#5", "D5-50c", "D5"]


def test_the_side_decides_how_steps_are_spelled() -> None:
    steps = EqualDivision(24).between(pitch("C5"), pitch("D5"), Side.FLAT)
    assert [step.canonical for step in steps] == ["C5", "Db5-50c", "Db5", "D5-50c", "D5"]


def test_ends_that_are_no_steps_are_left_out() -> None:
    steps = EqualDivision(12).between(pitch("C5+1c"), pitch("D5-1c"))
    assert [step.canonical for step in steps] == ["C#5"]


def test_nothing_lies_between_a_note_and_a_lower_one() -> None:
    assert EqualDivision(24).between(pitch("D5"), pitch("C5")) == ()


def test_the_compass_of_the_soprano_has_91_quarter_tones_to_c_sharp_7() -> None:
    # E3 = 5200 to C#7 = 9700 in steps of 50, both included: closed formula.
    assert len(EqualDivision(24).between(pitch("E3"), pitch("C#7"))) == 91
