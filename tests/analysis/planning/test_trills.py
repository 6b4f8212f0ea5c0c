"""Trills and tremolos: which pairs are found, and which of them stands first.

What works on a clarinet: common practice, from memory.
"""

import pytest

from analysis.finder import PlayerModel
from analysis.keywork import format_fingering, parse_fingering
from analysis.pitch import WrittenPitch
from analysis.planning import (
    Backing,
    MotionTable,
    Playable,
    find_trills,
    join_playable,
    judge_measured,
    list_ordinary,
    rank_pairs,
)
from tests.analysis.planning.exact_tube import SOPRANO, find_cents


@pytest.fixture(scope="module")
def model() -> PlayerModel:
    return PlayerModel.fit("b-flat-soprano", SOPRANO, [], is_screened=False)


def pitch(text: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(text)


def measured(text: str, offset_cents: float) -> Playable:
    return judge_measured(
        parse_fingering(text, SOPRANO), offset_cents, 2.0, tolerance_cents=10.0, logged_id=1
    )


@pytest.mark.parametrize(
    ("lower", "upper", "expected"),
    [
        ("F5", "F#5", ("T R 123 | 1--", "T R 123 | 1-- | right cross")),
        ("A4", "Bb4", ("--- | --- | throat A", "R --- | --- | throat A")),
        # with the low C key held on, one finger does it
        ("B4", "C5", ("T R 123 | 123 | left F, right E", "T R 123 | 123 | left F")),
    ],
)
def test_the_usual_trill_stands_first(
    model: PlayerModel, lower: str, upper: str, expected: tuple[str, str]
) -> None:
    best = find_trills(pitch(lower), pitch(upper), model=model)[0]
    written = [format_fingering(each.fingering) for each in (best.lower, best.upper)]
    assert tuple(written) == expected
    assert best.cost.is_one_finger


def test_what_the_player_has_stands_with_what_is_ordinary(model: PlayerModel) -> None:
    known = measured("T R 123 | 1-- | C#/G#", 2.0)
    found = find_trills(pitch("F5"), pitch("F#5"), model=model, known_upper=[known])
    mine = [pair for pair in found if pair.upper == known]
    assert mine
    assert mine[0].cost.is_one_finger
    assert not mine[0].is_predicted


def test_a_single_finger_out_of_tune_does_not_stand_first() -> None:
    f5, far = measured("T R 123 | 1--", 0.0), measured("T R 123 | 1-- | right cross", 40.0)
    fork = measured("T R 123 | -2-", 1.0)
    found = rank_pairs(
        MotionTable(SOPRANO, find_cents), pitch("F5"), pitch("F#5"), [(f5, far), (f5, fork)]
    )
    assert [pair.upper for pair in found] == [fork, far]
    assert found[1].chance < 0.01


def test_pairs_that_sound_alike_are_listed_once() -> None:
    lower = [measured(f"T R 123 | 123 | {key}", 0.0) for key in ("left F", "right F")]
    upper = measured("T R 123 | 123", 0.0)
    pairs = [(each, upper) for each in lower]
    found = rank_pairs(MotionTable(SOPRANO), pitch("C5"), pitch("D5"), pairs)
    assert len(found) == 1


def test_a_fingering_is_no_pair_with_itself(model: PlayerModel) -> None:
    same = measured("T R 123 | 123", 0.0)
    assert rank_pairs(MotionTable(SOPRANO), pitch("D5"), pitch("D5+20c"), [(same, same)]) == ()


def test_ordinary_fingerings_are_listed_with_every_choice(model: PlayerModel) -> None:
    found = list_ordinary(model, pitch("F#5"), tolerance_cents=10.0)
    assert {each.backing for each in found} == {Backing.ORDINARY}
    assert len(found) == 2
    assert list_ordinary(model, pitch("F#5-50c"), tolerance_cents=10.0) == ()


def test_of_the_same_fingering_the_first_counts(model: PlayerModel) -> None:
    mine = measured("T R 123 | -2-", 3.0)
    ordinary = list_ordinary(model, pitch("F#5"), tolerance_cents=10.0)
    joined = join_playable([mine], ordinary)
    assert len(joined) == len(ordinary)
    assert joined[0] == mine
