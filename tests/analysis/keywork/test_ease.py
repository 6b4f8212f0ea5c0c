"""The ease figure puts fingerings in the order in which every player would."""

import re

import pytest
from hypothesis import given

from analysis.keywork import (
    KeyStates,
    RightThumb,
    assess_ease,
    customise,
    find_conflicts,
    load_layout,
    parse_fingering,
)
from analysis.keywork import ease as ease_module
from analysis.keywork.ease import EFFORTS
from tests.analysis.keywork.strategies import any_fingering

SOPRANO = load_layout("soprano-17-6")
BASS = load_layout("bass-low-c").complete
CARRIED = customise(BASS, without=frozenset(), right_thumb=RightThumb.SHARES)


def _figure(text: str, layout_id: str = "soprano-17-6") -> float:
    return assess_ease(parse_fingering(text, load_layout(layout_id).complete)).figure


# Common practice, from memory: every player would call the first of each pair the easier one.
@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        ("T 123 | ---", "T 123 | --- | left E, left F"),
        ("T R 123 | 12-", "T R 123 | 12- | right E, left F#"),
        ("T 12- | ---", "T 12- | --- | side 1"),
        ("T 12- | --- | side 1", "T 123 | --- | left cross"),
        ("T 1-- | ---", "T (1)-- | ---"),
        ("T R 123 | 123 | left F#", "T R (1)23 | 123 | left F#, right E"),
        ("T 123 | 1--", "T 123 | 1-3"),
        ("T 1-- | 1--", "T 1-3 | 1-3"),
        ("T 12- | ---", "T 1-3 | ---"),
        ("T 123 | 123 | right E", "T 123 | 123 | right E, right F"),
        ("--- | --- | side 3", "--- | --- | side 3, side 4"),
        ("T 123 | 123", "T 123 | 123 | right cross"),
        ("T 123 | 123 | right F", "T 123 | 1-3 | right F, left E"),
        ("T R (1)23 | 12-", "T R (1)(2)3 | 12-"),
    ],
)
def test_the_easier_one_has_the_higher_figure(easier: str, harder: str) -> None:
    assert _figure(easier) > _figure(harder)


@pytest.mark.parametrize(
    ("easier", "harder"),
    [
        ("T 123 | 123 | thumb low C", "T 123 | 123 | thumb low C, thumb low C#"),
        ("T R 123 | 12-", "T R 123 | 12- | side 3, side 4"),
    ],
)
def test_the_same_on_the_bass(easier: str, harder: str) -> None:
    assert _figure(easier, "bass-low-c") > _figure(harder, "bass-low-c")


def test_a_low_key_is_harder_for_a_thumb_that_carries() -> None:
    figures = [
        assess_ease(parse_fingering(text, layout)).figure
        for layout, text in (
            (BASS, "T 123 | 123 | thumb low C"),
            (CARRIED, "T 123 | 123 | right low D"),
            (CARRIED, "T 123 | 123 | thumb low C"),
        )
    ]
    assert figures[0] == figures[1] > figures[2]


def test_ordinary_notes_without_keys_have_nothing_awkward() -> None:
    for text in ("--- | ---", "T 123 | 123", "T R 123 | 123 | right E", "T R 1-- | ---"):
        ease = assess_ease(parse_fingering(text, SOPRANO))
        assert (ease.figure, ease.terms, ease.words) == (1.0, (), "nothing awkward")


# One fingering for each term, so that none is without effect.
@pytest.mark.parametrize(
    ("text", "terms"),
    [
        ("T (1)-- | ---", ["half-hole"]),
        ("T 123 | 123 | right E, right F", ["two keys"]),
        ("T 123 | 123 | right cross", ["hole and key"]),
        ("T 123 | 123 | thumb low C#", ["carrying thumb"]),
        ("T 123 | 123 | thumb low C", []),
        ("T 123 | 1-- | side 1", ["unusual finger"]),
        ("--- | --- | throat A", ["away from its hole"]),
        ("T 1-3 | ---", ["gap", "dependent finger"]),
        ("T 123 | 123 | left E, right F", ["both little"]),
        ("T 123 | --3", ["dependent finger"]),
    ],
)
def test_each_term_is_named_where_it_occurs(text: str, terms: list[str]) -> None:
    layout = SOPRANO if "(" in text else CARRIED if "thumb low C#" in text else BASS
    ease = assess_ease(parse_fingering(text, layout))

    assert [term.name for term in ease.terms] == terms
    assert ease.figure == pytest.approx(1 / (1 + sum(EFFORTS[name] for name in terms)))


def test_what_hands_cannot_hold_has_the_figure_nought_and_the_reason() -> None:
    ease = assess_ease(parse_fingering("T 1-- | --- | throat A", SOPRANO))

    assert ease.figure == 0
    assert ease.words == (
        "impossible (The left first finger can't hold its hole and the throat A key.)"
    )


@given(any_fingering)
def test_the_figure_is_nought_only_where_there_is_a_conflict(fingering: KeyStates) -> None:
    ease = assess_ease(fingering)

    assert 0 <= ease.figure <= 1
    assert (ease.figure == 0) == bool(find_conflicts(fingering))


def test_the_documented_table_is_the_one_that_counts() -> None:
    rows = re.findall(r"^(\w[\w -]*?)  +(\d\.\d+) ", ease_module.__doc__ or "", re.MULTILINE)

    assert {name: float(effort) for name, effort in rows} == dict(EFFORTS)


def test_venting_a_plate_is_as_easy_as_holding_it_down() -> None:
    bass = load_layout("bass-low-eb")
    vented = assess_ease(parse_fingering("T R [1]23 | 12-", bass))
    assert vented == assess_ease(parse_fingering("T R 123 | 12-", bass))
