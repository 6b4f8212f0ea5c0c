"""A fingering holds the complete state of every key and can't hold a state that a key lacks."""

import pytest
from hypothesis import given

from analysis.keywork import (
    KeyStates,
    Layout,
    State,
    StateNotAllowed,
    UnknownKey,
    format_fingering,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import Register, register_of
from tests.analysis.keywork.strategies import EVERY, LAYOUTS, any_fingering, name_layout

SOPRANO = load_layout("soprano-17-6")


@given(any_fingering)
def test_a_fingering_is_the_same_however_it_was_made(fingering: KeyStates) -> None:
    states = {key.id: fingering.state(key.id) for key in fingering.pressed}

    again = KeyStates.of(fingering.layout, states)

    assert again == fingering
    assert hash(again) == hash(fingering)


def test_replacing_one_key_leaves_the_others_and_the_original() -> None:
    before = KeyStates.of(SOPRANO, {"l1": State.DOWN, "l2": State.DOWN})

    after = before.replaced("l1", State.SHADED)

    assert (after.state("l1"), after.state("l2")) == (State.SHADED, State.DOWN)
    assert before.state("l1") is State.DOWN
    assert after != before


def test_the_same_states_on_another_layout_are_another_fingering() -> None:
    assert KeyStates.of(SOPRANO, {}) != KeyStates.of(load_layout("bass-low-eb"), {})


def test_a_half_hole_is_flagged() -> None:
    assert KeyStates.of(SOPRANO, {"l1": State.SHADED}).has_half_hole
    assert not KeyStates.of(SOPRANO, {"l1": State.DOWN}).has_half_hole


# Common practice, from memory: what is played every day comes out the same each time.
@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_no_ordinary_fingering_has_a_half_hole(layout: Layout) -> None:
    ordinary = ordinary_fingerings(layout)

    has_altissimo = any(register_of(one.written) is Register.ALTISSIMO for one in ordinary)
    assert has_altissimo == (layout.id != "soprano-german")  # whose altissimo is to try
    assert not any(one.fingering.has_half_hole for one in ordinary)


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_a_first_finger_lifted_in_the_altissimo_may_be_half_off(layout: Layout) -> None:
    for one in ordinary_fingerings(layout):
        is_lifted = one.fingering.state("l1") is not State.DOWN
        if is_lifted and register_of(one.written) is Register.ALTISSIMO:
            partly = layout.key("l1").partial
            assert partly is not None
            rolled = one.fingering.replaced("l1", partly)
            assert rolled.pressed != rolled.replaced("l1", State.UP).pressed
            assert not rolled.has_half_hole, format_fingering(rolled)


@pytest.mark.parametrize(
    "text", ["(1)-- | ---", "T (1)23 | 123", "T R (1)23 | 123 | left F#", "T R (1)-- | ---"]
)
def test_the_first_finger_is_a_half_hole_below_the_altissimo(text: str) -> None:
    assert parse_fingering(text, SOPRANO).has_half_hole
    # on the bass its plate is vented, everywhere
    assert not parse_fingering(text, load_layout("bass-low-c")).has_half_hole


@pytest.mark.parametrize("text", ["T R 1(2)- | ---", "T R -(2)3 | 12-", "T R (1)(2)3 | 12-"])
def test_a_half_holed_second_finger_is_a_half_hole_everywhere(text: str) -> None:
    keys = parse_fingering(text, SOPRANO)

    assert keys.has_half_hole
    assert [key.id for key in keys.half_holes] == ["l2"]


def test_a_state_that_a_key_lacks_is_refused() -> None:
    with pytest.raises(StateNotAllowed, match="right E key can't be shaded; it can be up or down"):
        KeyStates.of(SOPRANO, {"right-e": State.SHADED})


def test_a_key_that_the_layout_lacks_is_refused() -> None:
    with pytest.raises(UnknownKey, match="no key 'thumb-c'"):
        KeyStates.of(SOPRANO, {"thumb-c": State.DOWN})


def test_states_must_be_given_for_every_key() -> None:
    with pytest.raises(ValueError, match="1 states for the 24 keys"):
        KeyStates(SOPRANO, (State.UP,))
