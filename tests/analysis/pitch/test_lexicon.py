"""Folding typed text, and the vocabularies compiled."""

from fractions import Fraction

import pytest
from hypothesis import given

from analysis.pitch import NoteNames
from analysis.pitch.lexicon import fold, load_lexicon, parse_number
from analysis.pitch.vocabulary import VOCABULARIES
from tests.steady_examples import any_text


@given(any_text())
def test_folding_keeps_every_position(text: str) -> None:
    assert len(fold(text)) == len(text)


@given(any_text())
def test_folding_twice_changes_nothing_more(text: str) -> None:
    assert fold(fold(text)) == fold(text)


@pytest.mark.parametrize(
    ("typed", "folded"),
    [
        ("RÉ", "re"),
        ("Höher", "hoher"),
        ("−–—‐", "----"),
        ("Ｄ５", "d5"),
        ("a\u00a0b\tc", "a b c"),
        ("♯♭♮", "♯♭♮"),
        ("İß½", "iß½"),
    ],
)
def test_variants_of_a_character_fold_to_one(typed: str, folded: str) -> None:
    assert fold(typed) == folded


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("50", Fraction(50)),
        ("12.5", Fraction(25, 2)),
        ("12,5", Fraction(25, 2)),
        ("50/3", Fraction(50, 3)),
        ("16 2/3", Fraction(50, 3)),
    ],
)
def test_numbers_are_read_exactly(text: str, number: Fraction) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize("names", NoteNames)
def test_no_word_means_both_up_and_down(names: NoteNames) -> None:
    english = VOCABULARIES[NoteNames.ENGLISH]
    own = VOCABULARIES[names]
    assert not {*english.higher, *own.higher} & {*english.lower, *own.lower}
    assert not {*english.above, *own.above} & {*english.below, *own.below}


@pytest.mark.parametrize("names", NoteNames)
def test_every_note_name_is_read_with_its_meaning(names: NoteNames) -> None:
    lexicon = load_lexicon(names)
    for name, meaning in lexicon.notes.items():
        head = lexicon.head.match(name)
        assert head is not None
        assert lexicon.notes[head["note"]] == meaning
        assert head.end() == len(name)
