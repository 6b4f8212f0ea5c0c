"""Fingerings with other keys and the same holes open are recognised as the same."""

import pytest
from hypothesis import given

from analysis.keywork import (
    KeyStates,
    are_acoustically_equal,
    customise,
    find_hole_states,
    hole_signature,
    load_layout,
    parse_fingering,
)
from tests.analysis.keywork.strategies import any_fingering


# Duplicate keys and what lies behind closed pads: common practice, from memory.
@pytest.mark.parametrize(
    ("layout_id", "first", "second"),
    [
        ("soprano-17-6", "T 123 | 123 | left E", "T 123 | 123 | right E"),
        ("soprano-17-6", "T 123 | 123 | left F", "T 123 | 123 | right F"),
        ("soprano-17-6", "T R 123 | 123 | left F#", "T R 123 | 123 | right F#"),
        ("soprano-17-6", "T 123 | 123 | right E", "T 123 | 123 | right E, right F"),
        ("soprano-17-6", "--- | --- | throat A", "--- | --- | throat A, throat G#"),
        ("soprano-20-7", "T 123 | 123 | left G#/Eb", "T 123 | 123 | G#/Eb"),
        ("soprano-20-7", "T 123 | 1-- | C#/G#", "T 123 | 1--"),
        ("bass-low-c", "T 123 | 123 | left low D", "T 123 | 123 | right low D"),
        ("basset-horn-low-c", "T 123 | 123 | left low D", "T 123 | 123 | thumb low D"),
        ("soprano-german", "T 123 | 123 | left E", "T 123 | 123 | left E, right F"),
        # The right hand's rings close the vent that the left second finger's ring closes.
        ("soprano-17-6", "T (1)23 | 1-- | left E", "T (1)23 | 1-- | right E"),
    ],
)
def test_duplicates_are_the_same(layout_id: str, first: str, second: str) -> None:
    layout = load_layout(layout_id)

    assert are_acoustically_equal(parse_fingering(first, layout), parse_fingering(second, layout))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("T 123 | 123 | left E", "T 123 | 123 | left F"),
        ("T 12- | --- | side 1", "T 12- | --- | left cross"),
        ("T 123 | -2-", "T 123 | 1-- | right cross"),
        ("T 1-- | ---", "T (1)-- | ---"),
        ("T 123 | 123", "T R 123 | 123"),
    ],
)
def test_other_holes_are_not_the_same(first: str, second: str) -> None:
    soprano = load_layout("soprano-17-6")

    assert not are_acoustically_equal(
        parse_fingering(first, soprano), parse_fingering(second, soprano)
    )


def test_holes_of_other_keywork_are_never_the_same() -> None:
    nothing = [KeyStates.of(load_layout(name), {}) for name in ("bass-low-eb", "contra-low-eb")]

    assert not are_acoustically_equal(*nothing)


def test_optional_keys_make_no_difference() -> None:
    soprano = load_layout("soprano-17-6")
    fitted = customise(soprano, without=frozenset())

    assert are_acoustically_equal(
        parse_fingering("T 123 | 123 | G#/Eb", soprano),
        parse_fingering("T 123 | 123 | left G#/Eb", fitted),
    )


@given(any_fingering, any_fingering)
def test_the_signature_is_the_state_of_every_hole(first: KeyStates, second: KeyStates) -> None:
    is_same_tube = first.layout.id == second.layout.id
    is_same = is_same_tube and find_hole_states(first) == find_hole_states(second)

    assert (hole_signature(first) == hole_signature(second)) == is_same
    assert len(hole_signature(first).partition(":")[2]) == len(first.layout.holes)
