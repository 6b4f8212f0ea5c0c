"""Trills of a range: the best pair for each note and interval, and how well it goes.

What works on a clarinet: common practice, from memory.
"""

from collections import defaultdict
from fractions import Fraction

import pytest

from analysis.keywork import load_layout, ordinary_fingerings
from analysis.pitch import EqualDivision, Side, WrittenPitch
from analysis.planning import (
    Backing,
    Playable,
    TrillGrade,
    TrillStep,
    load_motion_table,
    tabulate_trills,
)
from tests.analysis.planning.exact_tube import SOPRANO, played


def pitch(text: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(text)


@pytest.fixture(scope="module")
def trills() -> dict[tuple[str, int], TrillStep]:
    choices: dict[Fraction, list[Playable]] = defaultdict(list)
    for one in ordinary_fingerings(SOPRANO):
        choices[one.written.cents].append(Playable(one.fingering, 0.0, 0.0, 1.0, Backing.ORDINARY))
    quarter = played("T R 123 | -2- | right cross", "G5-50c").fingering
    choices[pitch("G5-50c").cents].append(Playable(quarter, 0.0, 0.0, 0.5, Backing.NOT_TRIED))
    notes = list(EqualDivision(24).between(pitch("E5"), pitch("A5"), Side.NEAREST))
    shares: list[float] = []
    table = load_motion_table("b-flat-soprano", SOPRANO)
    found = tabulate_trills(table, choices, notes, report=shares.append)
    assert shares[-1] == 1.0
    return {(step.lower.canonical, step.interval_cents): step for step in found}


@pytest.mark.parametrize(
    ("lower", "cents", "grade", "fingers"),
    [
        ("F5", 100, TrillGrade.ONE_FINGER, 1),
        ("G5", 200, TrillGrade.ONE_FINGER, 1),
        ("G#5", 100, TrillGrade.CARE, 2),
        ("F#5", 300, TrillGrade.CARE, 2),
    ],
)
def test_ordinary_trills_are_graded_as_players_would(
    trills: dict[tuple[str, int], TrillStep],
    lower: str,
    cents: int,
    grade: TrillGrade,
    fingers: int,
) -> None:
    step = trills[lower, cents]
    assert step.pair is not None
    assert (step.grade, step.pair.cost.finger_count) == (grade, fingers)
    assert step.is_measured
    assert step.upper.cents == step.lower.cents + cents


def test_what_was_not_tried_is_told_apart(trills: dict[tuple[str, int], TrillStep]) -> None:
    step = trills["F#5", 50]
    assert step.grade is TrillGrade.ONE_FINGER
    assert not step.is_measured


def test_where_a_note_has_no_fingering_there_is_no_pair(
    trills: dict[tuple[str, int], TrillStep],
) -> None:
    step = trills["E5", 50]
    assert (step.pair, step.grade, step.is_measured) == (None, None, False)


def test_a_tube_that_nobody_knows_leaves_the_motion() -> None:
    german = load_layout("soprano-german")
    assert load_motion_table("b-flat-soprano", german).find_cents is None
