"""Transitions of many pairs at once are those of the rule for one pair, figure by figure."""

import random
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from analysis.acoustics.linkage import Bits
from analysis.keywork import (
    KeyStates,
    Layout,
    find_conflicts,
    layout_ids,
    load_layout,
    ordinary_fingerings,
)
from analysis.planning import MotionTable, Played
from analysis.planning.motion_cost import Real
from tests.analysis.planning.scalar_transitions import find_scalar
from tests.thinning import every_daily


def invent_cents(holes: Bits) -> Real:
    """Invented resonances that rise with their number, some of them missing."""
    return np.array([invent_row(hole_set) for hole_set in holes.tolist()])


@cache
def invent_row(hole_set: int) -> Real:
    chance = random.Random(hole_set)
    cents = np.cumsum([chance.uniform(5000, 6500), *chance.choices((700, 1500), k=4)])
    cents[[place for place in range(5) if chance.random() < 0.2]] = np.nan
    return cents


def change_keys(fingering: KeyStates, chance: random.Random) -> KeyStates:
    """The fingering with one to four keys in another state, if hands can play it."""
    changed = fingering
    for key in chance.sample(fingering.layout.keys, chance.randint(1, 4)):
        changed = changed.replaced(key.id, chance.choice(sorted(key.states)))
    return fingering if find_conflicts(changed) else changed


def draw_line(layout: Layout, seed: int, count: int) -> list[Played]:
    """A seeded line of ordinary fingerings and invented ones, some of them twice running."""
    chance = random.Random(seed)
    ordinary = ordinary_fingerings(layout)
    line = []
    for one in chance.choices(ordinary, k=count):
        fingering = one.fingering if chance.random() < 0.3 else change_keys(one.fingering, chance)
        cents = float(one.written.cents) + chance.choice((0.0, 0.0, 50.0, -25.0))
        line += [Played(fingering, cents)] * chance.choice((1, 1, 1, 2))
    return line


def check(layout_id: str, seed: int, count: int) -> None:
    layout = load_layout(layout_id)
    pairs = list(pairwise(draw_line(layout, seed, count)))
    table = MotionTable(layout, invent_cents)
    table.prepare(pairs)
    for first, second in pairs:
        assert table.find(first, second) == find_scalar(layout, first, second, invent_cents)


@pytest.mark.parametrize("layout_id", every_daily(3, layout_ids()))
def test_many_pairs_at_once_have_the_figures_of_the_rule_for_one(layout_id: str) -> None:
    check(layout_id, 5, 24)


@pytest.mark.long_run
@pytest.mark.parametrize("layout_id", layout_ids())
def test_hundreds_of_pairs_have_the_figures_of_the_rule_for_one(layout_id: str) -> None:
    check(layout_id, 6, 300)
