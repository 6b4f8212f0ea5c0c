"""Passages: the cheapest of all ways, what is fixed, equal pitches, seams, trills, reversal."""

import random
from itertools import pairwise, product

import numpy as np
import pytest
from numpy.typing import NDArray

from analysis.keywork import KeyStates, assess_ease, describe_motion, ordinary_fingerings
from analysis.planning import (
    Backing,
    Emphasis,
    FingeringOption,
    MotionTable,
    Passage,
    PassageNote,
    PassageWeights,
    Played,
    finger_passage,
)
from analysis.planning.passage_costs import (
    TRILL_TOLERANCE_CENTS,
    find_crossings,
    find_expected_miss,
    find_node_cost,
    find_urgency,
)
from tests.analysis.planning.exact_tube import SOPRANO

CASES = 200  # a quarter of them every day
ORDINARY = [one for one in ordinary_fingerings(SOPRANO) if one.choice == 1]
TABLE = MotionTable(SOPRANO)
EQUAL = PassageWeights()


def option(
    fingering: KeyStates,
    cents: float = 7000.0,
    offset_cents: float = 0.0,
    sigma_cents: float = 2.0,
    resistance: int | None = None,
) -> FingeringOption:
    """A measured fingering, in tune to two cents unless told otherwise."""
    return FingeringOption(
        Played(fingering, cents),
        Backing.MEASURED,
        offset_cents,
        sigma_cents,
        assess_ease(fingering).figure,
        resistance=resistance,
    )


def move(first: FingeringOption, second: FingeringOption) -> float:
    """Motion of the hands."""
    return TABLE.find(first.played, second.played).cost


def move_all(
    first: tuple[FingeringOption, ...], second: tuple[FingeringOption, ...]
) -> NDArray[np.float64]:
    """Motion of the hands between each two."""
    return np.array([[move(one, two) for two in second] for one in first])


def draw_passage(seed: int, notes: int = 4, *, is_alike: bool = False) -> Passage:
    """A seeded passage of different pitches, some slurred, some a trill, now and then one fixed."""
    chance = random.Random(seed)
    pool = [
        tuple(
            option(
                one.fingering, 7000.0 + 50 * place, offset_cents=chance.uniform(-30, 30),
                sigma_cents=chance.uniform(0.5, 12), resistance=chance.choice([None, 1, 3, 5]),
            )
            for one in chance.sample(ORDINARY, chance.randint(1, 3))
        )
        for place in range(1 if is_alike else notes)
    ]  # fmt: skip
    made = [
        PassageNote(
            options=pool[place % len(pool)],
            length_s=chance.choice([0.06, 0.12, 0.25, 0.5, 2.0]),
            gap_s=chance.choice([0.06, 0.12, 0.25, 0.5, 2.0]),
            tolerance_cents=chance.choice([5.0, 10.0, 20.0]),
            is_slurred=chance.random() < 0.5,
            is_soft=chance.random() < 0.3,
            partners=chance.choice([(), (), chance.choice(pool)]),
        )
        for place in range(notes)
    ]
    fixed = {}
    if chance.random() < 0.5:
        place = chance.randrange(notes)
        fixed[place] = chance.randrange(len(made[place].options))
    return Passage(tuple(made), fixed=fixed)


def cost_of(passage: Passage, states: tuple[int, ...]) -> float:
    """The cost of one way, added up by itself from the table of costs."""
    chosen = [note.states[state] for note, state in zip(passage.notes, states, strict=True)]
    cost = sum(
        find_node_cost(note, state, EQUAL, lambda a, b: move(a, b) + move(b, a))
        for note, state in zip(passage.notes, chosen, strict=True)
    )
    for (first, one), (second, two) in pairwise(zip(passage.notes, chosen, strict=True)):
        before, after = first.options[one.option], second.options[two.option]
        cost += find_urgency(first, second) * move(before, after)
        cost += find_crossings((before,), (after,))[0, 0] if second.is_slurred else 0.0
    return cost


@pytest.mark.parametrize("count", [CASES // 4, pytest.param(CASES, marks=pytest.mark.long_run)])
def test_it_equals_all_ways(count: int) -> None:
    for seed in range(count):
        passage = draw_passage(seed)
        ways = [
            states
            for states in product(*(range(len(note.states)) for note in passage.notes))
            if all(
                passage.allows(place, note.states[state])
                for place, (note, state) in enumerate(zip(passage.notes, states, strict=True))
            )
        ]
        best = min(cost_of(passage, states) for states in ways)
        found = finger_passage(passage, move_all)
        assert found.cost == pytest.approx(best)
        assert cost_of(passage, found.states) == pytest.approx(best)


@pytest.mark.parametrize("count", [10, pytest.param(40, marks=pytest.mark.long_run)])
def test_what_is_fixed_is_in_it_whatever_it_costs(count: int) -> None:
    for seed in range(count):
        passage = draw_passage(seed, notes=6)
        dearest = {
            place: int(np.argmax([option.offset_cents for option in note.options]))
            for place, note in enumerate(passage.notes)
            if place % 2
        }
        found = finger_passage(Passage(passage.notes, fixed=dearest), move_all)
        for place, wanted in dearest.items():
            assert passage.notes[place].states[found.states[place]].option == wanted


def test_insisting_on_another_costs_what_fixing_it_adds() -> None:
    free = Passage(draw_passage(3).notes)
    found = finger_passage(free, move_all)
    for place, note in enumerate(free.notes):
        for number, state in enumerate(note.states):
            if state.partner is None:
                there = finger_passage(Passage(free.notes, fixed={place: state.option}), move_all)
                expected = there.cost - found.cost
                assert found.insisting[place][number] == pytest.approx(expected)


def test_without_what_is_fixed_it_would_be_easier() -> None:
    free = Passage(draw_passage(3).notes)
    best = finger_passage(free, move_all)
    place = next(at for at, note in enumerate(free.notes) if len(note.options) > 1)
    wanted = free.notes[place].states[best.states[place]].option
    worse = next(at for at in range(len(free.notes[place].options)) if at != wanted)
    held = finger_passage(Passage(free.notes, fixed={place: worse}), move_all)
    assert held.insisting[place].min() == pytest.approx(best.cost - held.cost)


# Without half-holes and thumbs the hands do the same backwards.
@pytest.mark.parametrize("seed", range(20))
def test_a_passage_backwards_has_the_same_motion(seed: int) -> None:
    chance = random.Random(seed)
    plain = [one.fingering for one in ORDINARY if not one.fingering.has_half_hole]
    line = chance.sample(plain, 8)
    there = sum(describe_motion(*pair).cost for pair in pairwise(line))
    back = sum(describe_motion(*pair).cost for pair in pairwise(line[::-1]))
    assert there == pytest.approx(back)
    notes = [PassageNote((option(each),), 0.25, 0.25, is_slurred=True) for each in line]
    forwards, backwards = (
        finger_passage(Passage(tuple(each)), move_all) for each in (notes, notes[::-1])
    )
    assert sum(forwards.crossings) == pytest.approx(sum(backwards.crossings))


def test_the_same_pitch_gets_the_same_fingering_where_that_costs_little() -> None:
    usual, other = (option(one.fingering) for one in ORDINARY[10:12])
    slightly = option(other.fingering, offset_cents=11.0, sigma_cents=0.0)
    pitch, beside = (option(usual.fingering), slightly), (option(other.fingering, 7100.0),)
    notes = [PassageNote(pitch, 0.5, 4.0), PassageNote(beside, 0.5, 4.0)] * 3
    found = finger_passage(Passage(tuple(notes)), move_all)
    chosen = {found.states[place] for place in range(0, 6, 2)}
    assert len(chosen) == 1


def test_a_seam_is_one_more_transition() -> None:
    first, last, far = (one.fingering for one in (ORDINARY[10], ORDINARY[11], ORDINARY[30]))
    notes = (
        PassageNote((option(first),), 0.25, 0.25),
        PassageNote((option(far, 7100.0), option(last, 7100.0)), 0.25, 0.25),
    )
    plain = finger_passage(Passage(notes), move_all)
    repeated = finger_passage(Passage(notes, seams=((1, 0),)), move_all)
    state = repeated.states[1]
    seam = find_urgency(notes[1], notes[0]) * move(notes[1].options[state], notes[0].options[0])
    assert repeated.cost == pytest.approx(plain.cost + seam)


def test_a_trill_is_a_pair_and_its_upper_note_may_be_farther_off() -> None:
    main = option(ORDINARY[10].fingering)
    near = option(ORDINARY[11].fingering, 7100.0, offset_cents=TRILL_TOLERANCE_CENTS - 5.0)
    far = option(ORDINARY[30].fingering, 7100.0)
    note = PassageNote((main,), 1.0, 1.0, partners=(far, near))
    assert move(main, near) < move(main, far)
    found = finger_passage(Passage((note,)), move_all)
    assert note.states[found.states[0]].partner == 1


def test_the_switch_decides_between_pitch_and_hands() -> None:
    line = [one.fingering for one in ORDINARY]
    hard = (option(line[10]),), (option(line[30], sigma_cents=0.5),), (option(line[10]),)
    easy = option(line[11], offset_cents=20.0, sigma_cents=0.5)
    notes = [PassageNote(options, 0.25, 0.25, is_slurred=True) for options in hard]
    both = (*hard[1], easy)
    notes[1] = PassageNote(both, 0.25, 0.25, is_slurred=True)
    passage = Passage(tuple(notes))
    assert finger_passage(passage, move_all, PassageWeights.of(Emphasis.SAFEST)).states[1] == 1
    precise = PassageWeights(pitch=100.0)
    assert finger_passage(passage, move_all, precise).states[1] == 0


# E[max(0, |X| - a)] by numerical integration.
@pytest.mark.parametrize(("offset", "sigma", "tolerance"), [(0, 5, 10), (12, 3, 10), (-30, 8, 5)])
def test_the_expected_miss_is_that_integral(offset: float, sigma: float, tolerance: float) -> None:
    cents = np.linspace(offset - 12 * sigma, offset + 12 * sigma, 200_001)
    density = np.exp(-0.5 * ((cents - offset) / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi))
    beyond = np.maximum(0.0, np.abs(cents) - tolerance)
    expected = np.trapezoid(density * beyond, cents)
    assert find_expected_miss(offset, sigma, tolerance) == pytest.approx(expected, rel=1e-5)


def test_a_note_without_options_is_refused() -> None:
    with pytest.raises(ValueError, match="without any option"):
        PassageNote((), 0.5, 0.5)
