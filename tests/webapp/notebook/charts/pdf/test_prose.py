"""Text is cleaned, shortened and made breakable without losing what can be read."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.steady_examples import any_text
from webapp.notebook.charts.pdf.prose import ELLIPSIS, clean, clean_line, compose, prepare


@given(any_text())
def test_nothing_unprintable_is_left(text: str) -> None:
    printed = "".join("".join(line) for line in prepare(text).lines)

    # General categories of Unicode (UAX 44): Cc is control, Cs surrogate.
    assert not {unicodedata.category(character) for character in printed} & {"Cc", "Cs"}


@given(st.text(alphabet=st.characters(categories=("L", "N", "P")), max_size=300))
def test_an_unshortened_text_keeps_every_letter_in_order(text: str) -> None:
    lines = prepare(text).lines

    assert "".join("".join(line) for line in lines) == text


@given(any_text(max_size=200), st.integers(1, 40))
def test_a_shortened_line_is_never_longer_than_asked_but_for_its_mark(
    text: str, longest: int
) -> None:
    assert len(clean_line(text, longest=longest)) <= longest + len(ELLIPSIS)


def test_a_long_text_is_cut_at_a_space_and_marked() -> None:
    prose = prepare("raised from the lower neighbour, then shaded", longest=30)

    assert ["".join(line) for line in prose.lines] == ["raised from the lower…"]
    assert prose.is_shortened


def test_what_is_cut_twice_is_marked_once() -> None:
    once = clean_line("keys and the order inside the clusters", longest=20)
    assert once == "keys and the order…"
    assert clean_line(f"{once}; more", longest=21) == once


def test_more_lines_than_there_is_room_for_are_cut_and_marked() -> None:
    prose = prepare("one\ntwo\nthree", most_lines=2)

    assert prose.lines == (("one",), ("two…",))
    assert prose.is_shortened


def test_a_very_long_word_gets_places_to_break() -> None:
    (pieces,) = prepare("x" * 100).lines

    assert max(map(len, pieces)) <= 18
    assert "".join(pieces) == "x" * 100


def test_a_piece_never_begins_with_a_combining_mark() -> None:
    (pieces,) = prepare("e\u0301" * 50).lines

    assert not any(unicodedata.combining(piece[0]) for piece in pieces)


# First strong character decides: Unicode UAX 9, rules P2 and P3.
@pytest.mark.parametrize(
    ("text", "direction"),
    [("abc", "ltr"), ("עברית", "rtl"), ("12 العربية", "rtl"), ("a עברית", "ltr"), ("123", "ltr")],
)
def test_the_reading_direction_follows_the_first_letter_that_has_one(
    text: str, direction: str
) -> None:
    assert prepare(text).direction == direction


def test_a_line_of_the_chart_keeps_its_direction_whatever_name_begins_it() -> None:
    line = compose(("קלרינט 7", "", "B-flat soprano", "A = 440 Hz"), " · ")
    assert line.lines == (("קלרינט 7 · B-flat soprano · A = 440 Hz",),)
    assert line.direction == "ltr"


def test_marks_that_override_the_direction_are_dropped() -> None:
    assert clean("a\u202eb\u2066c") == "abc"


def test_only_white_space_is_empty() -> None:
    assert prepare(" \n\t\x00\n").is_empty
