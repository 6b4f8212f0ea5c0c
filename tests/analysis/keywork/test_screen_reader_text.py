"""Fingerings in words for screen readers."""

import pytest
from hypothesis import given

from analysis.keywork import KeyStates, load_layout, parse_fingering, spell_out
from tests.analysis.keywork.strategies import any_fingering

SOPRANO = load_layout("soprano-17-6")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("--- | ---", "nothing pressed"),
        ("T R 12- | --- | left cross", "thumb and register; left 1 2, left cross key"),
        ("R --- | --- | throat A", "register; throat A key"),
        ("T 123 | 12- | right E", "thumb; left 1 2 3; right 1 2, right E key"),
        ("(T) (1)2- | ---", "thumb shaded; left 2, left first finger shaded"),
        ("--- | --- | side 3, side 4", "side 3 key, side 4 key"),
    ],
)
def test_a_fingering_in_words(text: str, words: str) -> None:
    assert spell_out(parse_fingering(text, SOPRANO)) == words


@given(any_fingering)
def test_words_have_no_signs_that_are_read_out_wrongly(fingering: KeyStates) -> None:
    assert not set("#♯♭|()") & set(spell_out(fingering))


def test_a_vented_plate_is_named_with_its_finger() -> None:
    vented = parse_fingering("T R [1]23 | 12-", load_layout("bass-low-eb"))
    expected = "thumb and register; left 2 3, left first finger vented; right 1 2"
    assert spell_out(vented) == expected
