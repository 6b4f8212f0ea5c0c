"""Accidentals of a part, resolved from alter and sign alone. Rules: common practice of notation."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.score.settings import ReadingSettings, SignLasts
from analysis.score.sign_resolution import (
    ExporterEvidence,
    SignedNote,
    SignFlag,
    SignResolver,
    find_evidence,
)
from analysis.score.signs import find_sign

D5 = (1, "D", 5)
NOTHING = ExporterEvidence(is_faithful=False, arrow_sizes=frozenset(), stroked_sizes=frozenset())


def head(
    alter: int | None = None, sign: str = "", *, bar: int = 0, place: tuple[int, str, int] = D5,
    is_tied: bool = False, key: int | None = None,
) -> SignedNote:  # fmt: skip
    return SignedNote(
        bar, place, None if alter is None else Fraction(alter), find_sign(sign), is_tied,
        key_cents=None if key is None else Fraction(key),
    )  # fmt: skip


def cents(*notes: SignedNote, settings: ReadingSettings | None = None) -> list[Fraction]:
    resolver = SignResolver(settings or ReadingSettings(), find_evidence(notes))
    return [each.alter_cents for each in resolver.resolve(notes)]


def test_evidence_is_what_any_note_of_the_part_shows() -> None:
    notes = [head(-50, "quarter-flat"), head(25, "natural-up"), head(75, "sharp-down"), head(50)]
    found = find_evidence(notes)
    assert found.is_faithful
    assert found.arrow_sizes == {25}
    assert find_evidence(notes[:3]) == ExporterEvidence(
        False, frozenset({Fraction(25)}), frozenset()
    )
    assert find_evidence([head(-25, "slash-flat")]).stroked_sizes == {25}


def test_a_microtone_in_alter_goes_before_any_sign() -> None:
    for sign in ("", "natural", "sharp", "natural-up", "slash-flat", "moon", "quarter-sharp"):
        assert cents(head(-50, sign)) == [-50]


@pytest.mark.parametrize(
    ("alter", "sign", "flag"),
    [(-50, "sharp", True), (-50, "quarter-sharp", True), (-31, "quarter-flat", False)],
)
def test_a_sign_far_from_its_alter_is_flagged(alter: int, sign: str, flag: bool) -> None:
    (found,) = SignResolver(ReadingSettings(), NOTHING).resolve([head(alter, sign)])
    assert (found.flags == (SignFlag.DISAGREES,)) is flag


def test_a_printed_sharp_without_alter_is_a_sharp_and_a_stated_pitch_stays() -> None:
    assert cents(head(None, "sharp"), head(0, "sharp"), head(None, "natural")) == [100, 0, 0]


def test_a_natural_ends_what_a_sign_began() -> None:
    notes = [head(None, "quarter-flat"), head(0), head(0, "natural"), head(0)]
    assert cents(*notes) == [-50, -50, 0, 0]


def test_the_next_bar_begins_anew() -> None:
    assert cents(head(None, "quarter-flat"), head(0, bar=1)) == [-50, 0]


def test_a_tie_over_the_barline_holds_for_its_note_alone() -> None:
    notes = [head(None, "quarter-flat"), head(0, bar=1, is_tied=True), head(0, bar=1)]
    assert cents(*notes) == [-50, -50, 0]


def test_the_sign_of_another_place_holds_nothing() -> None:
    others = [(2, "D", 5), (1, "E", 5), (1, "D", 4)]
    assert cents(head(None, "quarter-flat"), *(head(0, place=place) for place in others)) == [
        -50, 0, 0, 0,
    ]  # fmt: skip


def test_repetitions_end_at_the_first_other_note() -> None:
    rule = ReadingSettings(sign_lasts=SignLasts.REPETITIONS)
    notes = [
        head(None, "quarter-flat"), head(0), head(0), head(0, place=(1, "E", 5)), head(0), head(0),
    ]  # fmt: skip
    assert cents(*notes, settings=rule) == [-50, -50, -50, 0, 0, 0]


def test_an_ordinary_sign_needs_no_question() -> None:
    resolver = SignResolver(ReadingSettings(), NOTHING)
    resolver.resolve([head(100, "sharp"), head(100), head(0, "natural"), head(0)])
    assert resolver.undecided.sign_lasts == ()


def test_a_key_is_followed_only_where_the_player_says_that_signs_hold() -> None:
    note = head(0, key=-50)
    assert cents(note) == [0]
    assert cents(note, settings=ReadingSettings(sign_lasts=SignLasts.BAR)) == [-50]
    assert cents(note, settings=ReadingSettings(sign_lasts=SignLasts.NOTE)) == [0]
    assert cents(note, head(50)) == [0, 50]  # a faithful exporter


SIGNS = ("", "natural", "sharp", "quarter-flat", "natural-up", "slash-flat", "moon")
ALTERS = (None, 0, 100, -50, 25)


def test_every_pair_of_alter_and_sign_comes_to_something() -> None:
    for alter, sign in product(ALTERS, SIGNS):
        (found,) = SignResolver(ReadingSettings(), NOTHING).resolve([head(alter, sign)])
        assert abs(found.alter_cents) <= 250


@given(
    st.lists(
        st.tuples(
            st.integers(0, 3),
            st.sampled_from("DE"),
            st.sampled_from(ALTERS),
            st.sampled_from(SIGNS),
        ),
        max_size=12,
    ),
    st.sampled_from([None, *SignLasts]),
)
def test_the_same_notes_always_come_out_alike_and_stated_microtones_stay(
    rows: list[tuple[int, str, int | None, str]], rule: SignLasts | None
) -> None:
    notes = [
        head(alter, sign, bar=bar, place=(1, step, 5))
        for bar, step, alter, sign in sorted(rows, key=lambda row: row[0])
    ]
    settings = ReadingSettings(sign_lasts=rule)
    first = cents(*notes, settings=settings)
    assert first == cents(*notes, settings=settings)
    for note, found in zip(notes, first, strict=True):
        if note.alter_cents is not None and note.alter_cents % 100:
            assert found == note.alter_cents
