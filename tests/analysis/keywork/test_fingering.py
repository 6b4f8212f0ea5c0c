"""A fingering holds the complete state of every key and can't hold a state that a key lacks."""

import pytest
from hypothesis import given

from analysis.keywork import KeyStates, State, StateNotAllowed, UnknownKey, load_layout
from tests.analysis.keywork.strategies import any_fingering

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


def test_a_half_hole_is_always_flagged() -> None:
    assert KeyStates.of(SOPRANO, {"l1": State.SHADED}).has_half_hole
    assert not KeyStates.of(SOPRANO, {"l1": State.DOWN}).has_half_hole


def test_a_state_that_a_key_lacks_is_refused() -> None:
    with pytest.raises(StateNotAllowed, match="right E key can't be shaded; it can be up or down"):
        KeyStates.of(SOPRANO, {"right-e": State.SHADED})


def test_a_key_that_the_layout_lacks_is_refused() -> None:
    with pytest.raises(UnknownKey, match="no key 'thumb-c'"):
        KeyStates.of(SOPRANO, {"thumb-c": State.DOWN})


def test_states_must_be_given_for_every_key() -> None:
    with pytest.raises(ValueError, match="1 states for the 24 keys"):
        KeyStates(SOPRANO, (State.UP,))
