"""Transitions between fingerings: what hands do, what is heard in between, each worked out once."""

import numpy as np
import pytest

from analysis.acoustics.linkage import Bits
from analysis.keywork import DifferentLayouts, describe_motion, load_layout, ordinary_fingerings
from analysis.keywork import parse_fingering as parse
from analysis.planning import MotionTable, Played, find_neighbour_costs, find_pair_cost
from analysis.planning.motion_cost import UNSAFE, Real
from tests.analysis.planning.exact_tube import SOPRANO, find_cents, played

FORK_F_SHARP = played("T R 123 | -2-", "F#5")
F5 = played("T R 123 | 1--", "F5")
CROSS_F_SHARP = played("T R 123 | 1-- | right cross", "F#5")
ORDINARY = [Played(one.fingering, float(one.written.cents)) for one in ordinary_fingerings(SOPRANO)]


@pytest.fixture(scope="module")
def table() -> MotionTable:
    return MotionTable(SOPRANO, find_cents)


# Common practice, from memory: with both fingers up G5 is heard, with both down E5.
def test_a_fork_against_its_neighbour_is_unsafe(table: MotionTable) -> None:
    fork = table.find(F5, FORK_F_SHARP)
    assert fork.unsafe_share == 1.0
    assert fork.blip_cents is not None
    assert min(abs(fork.blip_cents - 7600.0), abs(fork.blip_cents - 7900.0)) < 30.0
    assert fork.cost == fork.motion + UNSAFE


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (F5, CROSS_F_SHARP),
        (played("T R 123 | ---", "G5"), played("T R 12- | ---", "A5")),
        # fingers that all lift pass through the notes of the scale
        (F5, played("T R 12- | ---", "A5")),
        (played("T 123 | 123", "G3"), played("T 1-- | ---", "E4")),
    ],
)
def test_one_finger_and_fingers_that_follow_the_scale_are_safe(
    table: MotionTable, first: Played, second: Played
) -> None:
    found = table.find(first, second)
    assert (found.unsafe_share, found.blip_cents) == (0.0, None)
    assert found.cost == describe_motion(first.fingering, second.fingering).cost


# Common practice, from memory: what players do before they cross the break.
def test_the_right_hand_kept_down_on_throat_notes_helps_over_the_break(table: MotionTable) -> None:
    b4 = played("T R 123 | 123 | right E", "B4")
    free = table.find(played("--- | --- | throat A", "A4"), b4)
    kept = table.find(played("--- | 123 | throat A", "A4"), b4)
    assert kept.cost < free.cost


def test_the_cost_is_the_same_in_both_directions(table: MotionTable) -> None:
    some = [one for one in ORDINARY if not one.fingering.has_half_hole][::8]
    table.prepare((first, second) for first in some for second in some)
    for first in some:
        for second in some:
            there, back = table.find(first, second), table.find(second, first)
            assert (there.cost, there.blip_cents) == (back.cost, back.blip_cents)


def test_nothing_moves_between_a_fingering_and_itself(table: MotionTable) -> None:
    same = table.find(F5, F5)
    assert (same.finger_count, same.cost, same.blip_cents) == (0, 0.0, None)


def test_many_at_once_are_as_one_by_one(table: MotionTable) -> None:
    pairs = [(first, second) for first in ORDINARY[::25] for second in ORDINARY[::20]]
    together = MotionTable(SOPRANO, find_cents)
    together.prepare(pairs)
    for pair in pairs:
        assert together.find(*pair) == table.find(*pair)


def test_each_is_worked_out_once() -> None:
    asked: list[int] = []

    def count(holes: Bits) -> Real:
        asked.append(len(holes))
        return find_cents(holes)

    counting = MotionTable(SOPRANO, count)
    first = counting.find(F5, FORK_F_SHARP)
    assert counting.find(F5, FORK_F_SHARP) is first
    assert len(asked) == 1


def test_without_a_tube_there_is_the_motion_alone() -> None:
    found = MotionTable(SOPRANO).find(F5, FORK_F_SHARP)
    assert (found.cost, found.unsafe_share) == (2.5, 0.0)


def test_where_nothing_sounds_in_between_the_note_breaks_off() -> None:
    def silent(holes: Bits) -> Real:
        return np.full((len(holes), 5), np.nan)

    found = MotionTable(SOPRANO, silent).find(F5, FORK_F_SHARP)
    assert (found.unsafe_share, found.blip_cents) == (1.0, None)


def test_two_layouts_are_refused() -> None:
    bass = parse("T R 123 | 1--", load_layout("bass-low-c"))
    with pytest.raises(DifferentLayouts):
        MotionTable(SOPRANO).find(F5, Played(bass, 7700.0))


def test_a_trill_with_one_finger_stands_before_one_with_two(table: MotionTable) -> None:
    by_cross = find_pair_cost(table, F5, CROSS_F_SHARP)
    by_fork = find_pair_cost(table, F5, FORK_F_SHARP)
    assert by_cross.is_one_finger
    assert not by_fork.is_one_finger
    assert by_cross.order < by_fork.order
    assert (by_cross.cost, by_cross.finger_count, by_fork.finger_count) == (2.0, 1, 2)


def test_a_finger_that_stays_on_its_hole_is_no_trill_finger() -> None:
    rolling = find_pair_cost(
        MotionTable(SOPRANO),
        played("T R -23 | 1-- | G#/Eb", "D6"),
        played("T R -23 | 1-- | left cross, G#/Eb", "D6+50c"),
    )
    assert rolling.cost == 2.0
    assert not rolling.is_one_finger


def test_a_slide_is_no_finger_that_goes_down_and_up() -> None:
    slide = find_pair_cost(
        MotionTable(SOPRANO),
        played("T R 123 | 123 | right E", "B4"),
        played("T R 123 | 123 | right F", "C5"),
    )
    assert slide.finger_count == 1
    assert not slide.is_one_finger


def test_of_the_choices_for_a_neighbour_the_cheapest_counts(table: MotionTable) -> None:
    here = [CROSS_F_SHARP.fingering, FORK_F_SHARP.fingering]
    far = played("--- | --- | throat A", "A4")
    costs = find_neighbour_costs(table, 7800.0, here, before=[far, F5], after=[F5])
    assert costs.tolist() == [2.0, 9.0]
    assert find_neighbour_costs(table, 7800.0, here, after=[F5]).tolist() == [1.0, 4.5]
    assert find_neighbour_costs(table, 7800.0, here).tolist() == [0.0, 0.0]
