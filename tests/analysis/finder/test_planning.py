"""A whole range: solved, predicted, open, and what to try."""

import pytest

from analysis.finder import Plan, PlayerModel, plan_range
from analysis.pitch import WrittenPitch
from tests.analysis.finder.players import KIND, soprano

TARGETS = tuple(
    WrittenPitch.from_canonical(text) for text in ("E3+50c", "D4+50c", "G5-50c", "C6+50c")
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    model = PlayerModel.fit(KIND, soprano(), [])
    return plan_range(TARGETS, model=model, starts=(), solved={TARGETS[3]})


def test_every_target_stands_in_one_list(plan: Plan) -> None:
    assert plan.solved == (TARGETS[3],)
    assert plan.predicted == TARGETS[1:3]
    # by the trial behind the recipe: nothing within three changes above E3
    assert plan.open == (TARGETS[0],)


def test_tries_are_for_predicted_notes_and_best_first(plan: Plan) -> None:
    assert plan.tries
    assert {one.written for one in plan.tries} <= set(plan.predicted)
    for target in plan.predicted:
        ranks = [one.suggestion.rank for one in plan.tries if one.written == target]
        assert ranks == list(range(1, len(ranks) + 1))


def test_what_is_expected_follows_from_the_chances(plan: Plan) -> None:
    expected = 0.0
    for target in plan.predicted:
        missed = 1.0
        for one in plan.tries:
            if one.written == target:
                missed *= 1.0 - one.suggestion.chance
        expected += 1.0 - missed
    assert plan.expected_closed == pytest.approx(expected)
    assert 0 < plan.expected_closed < len(plan.predicted)


def test_progress_is_told_after_each_open_target() -> None:
    model = PlayerModel.fit(KIND, soprano(), [])
    told: list[float] = []
    plan_range(TARGETS, model=model, starts=(), solved={TARGETS[3]}, report=told.append)
    assert told == pytest.approx([1 / 3, 2 / 3, 1.0])
