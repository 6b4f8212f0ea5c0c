"""Durations as note values: what comes out lasts as long as what went in."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.engraving.note_values import (
    NoteValue,
    Sounding,
    UnwrittenRhythm,
    choose_beat,
    fill_bar,
    write_values,
)


def line_of(*durations: str) -> list[Sounding]:
    """Notes that follow each other from the start of a bar."""
    found, at = [], Fraction(0)
    for place, text in enumerate(durations):
        found.append(Sounding(place, at, Fraction(text)))
        at += Fraction(text)
    return found


def written_length(value: NoteValue, count: int, base: int) -> Fraction:
    plain = Fraction(4, value.base)
    return plain * (2 - Fraction(1, 2**value.dots)) * base / count


# common practice: a dotted half fills 3/4, a triplet eighth is a third of a quarter, and so on
@pytest.mark.parametrize(
    ("durations", "expected"),
    [
        (["3"], [(1, 2, 1)]),
        (["7/2"], [(1, 2, 2)]),
        (["5/4"], [(1, 4, 0), (1, 16, 0)]),
        (["1/3", "1/3", "1/3"], [(3, 8, 0)] * 3),
        (["2/3", "1/3"], [(3, 4, 0), (3, 8, 0)]),
        (["4/3", "4/3", "4/3"], [(3, 2, 0)] * 3),
        (["2/5", "2/5", "1/5"], [(5, 8, 0), (5, 8, 0), (5, 16, 0)]),
        (["1", "1/6", "1/6", "1/6", "1/2"], [(1, 4, 0), *[(3, 16, 0)] * 3, (1, 8, 0)]),
    ],
)
def test_durations_are_written_as_the_trade_writes_them(
    durations: list[str], expected: list[tuple[int, int, int]]
) -> None:
    groups = write_values(line_of(*durations))
    assert [
        (group.count, value.base, value.dots) for group in groups for value in group.values
    ] == expected


@given(
    st.lists(
        st.sampled_from(["1/8", "1/4", "1/2", "3/4", "1", "5/4", "2", "1/3", "2/3", "1/6", "1/5"]),
        min_size=1,
        max_size=12,
    )
)
def test_what_is_written_lasts_as_long_as_what_is_played(durations: list[str]) -> None:
    line = line_of(*durations)
    try:
        groups = write_values(line)
    except UnwrittenRhythm:
        return  # thirds across fifths: the bar is engraved without a rhythm
    lasted = dict.fromkeys(range(len(line)), Fraction(0))
    for group in groups:
        for value in group.values:
            assert value.note is not None
            lasted[value.note] += written_length(value, group.count, group.base)
    assert lasted == {place: each.duration for place, each in enumerate(line)}


def test_silence_is_filled_with_rests_and_what_overlaps_is_cut() -> None:
    notes = [Sounding(0, Fraction(1), Fraction(2)), Sounding(1, Fraction(2), Fraction(1))]
    assert fill_bar(notes, Fraction(4)) == [
        Sounding(None, Fraction(0), Fraction(1)),
        Sounding(0, Fraction(1), Fraction(1)),
        Sounding(1, Fraction(2), Fraction(1)),
        Sounding(None, Fraction(3), Fraction(1)),
    ]


def test_a_duration_that_no_value_writes_is_told() -> None:
    with pytest.raises(UnwrittenRhythm):
        write_values(line_of("1/17", "1"))


def test_beams_break_where_fewest_notes_cross() -> None:
    assert choose_beat(line_of(*["1/2"] * 6), Fraction(3)) == 1
    assert choose_beat(line_of("1", "1/2", "1", "1/2"), Fraction(3)) == Fraction(3, 2)
