"""Registers by written pitch."""

from itertools import pairwise

import pytest
from hypothesis import given

from analysis.pitch import Register, WrittenPitch, register_bounds, register_of
from tests.analysis.pitch.strategies import written_pitches

# Chalumeau E3-F#4, throat G4-Bb4, clarion B4-C6, altissimo from C#6, extension below E3:
# common practice, from memory.
BOUNDARY_NOTES = [
    ("C3", Register.EXTENSION),
    ("Eb3", Register.EXTENSION),
    ("E3", Register.CHALUMEAU),
    ("F#4", Register.CHALUMEAU),
    ("G4", Register.THROAT),
    ("Bb4", Register.THROAT),
    ("B4", Register.CLARION),
    ("C6", Register.CLARION),
    ("C#6", Register.ALTISSIMO),
    ("C7", Register.ALTISSIMO),
]


@pytest.mark.parametrize(("text", "register"), BOUNDARY_NOTES)
def test_the_outer_notes_of_each_register(text: str, register: Register) -> None:
    assert register_of(WrittenPitch.from_canonical(text)) is register


@pytest.mark.parametrize(
    ("text", "register"),
    [
        ("E3-14c", Register.CHALUMEAU),
        ("F#4+49c", Register.CHALUMEAU),
        ("G4-50c", Register.THROAT),
        ("B4-50c", Register.CLARION),
        ("C6+49c", Register.CLARION),
        ("C6+50c", Register.ALTISSIMO),
    ],
)
def test_a_microtone_belongs_to_the_nearest_step_and_halfway_to_the_upper(
    text: str, register: Register
) -> None:
    assert register_of(WrittenPitch.from_canonical(text)) is register


@given(written_pitches)
def test_every_written_pitch_lies_inside_the_bounds_of_its_register(written: WrittenPitch) -> None:
    low, high = register_bounds(register_of(written))
    assert low <= written.cents < high


def test_the_registers_meet_without_gap() -> None:
    for lower, upper in pairwise(Register):
        assert register_bounds(lower)[1] == register_bounds(upper)[0]
