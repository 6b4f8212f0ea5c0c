"""What the judge answers to a note, on facts built by hand.

The truth is the requirement; sounding cents by hand: the note is D5 less a quarter tone on a B-flat
soprano, 7150 sounding cents.
"""

from fractions import Fraction

import pytest

from analysis.pitch import NoteNames, WrittenPitch
from tests.webapp.notebook.targets.judging import (
    ALTERNATE,
    INSTRUMENT,
    MINE,
    REJECTED,
    WRITTEN,
    a_judge,
    ask,
    elsewhere,
    facts,
    note,
    numbers,
)
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.answers import Judge, sounds_as
from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.ordered import OrderedFacts
from webapp.notebook.targets.standing import Standing, Word

D5, E5 = WrittenPitch.from_canonical("D5"), WrittenPitch.from_canonical("E5")


def test_a_note_that_nothing_is_logged_for_has_no_answer() -> None:
    answer = ask()
    assert (answer.ranked, answer.history, answer.silent, answer.best) == ((), (), (), None)
    assert (answer.is_solved, answer.reason, answer.remarks) == (False, "", ())


def test_what_is_logged_for_another_note_counts_where_it_sounds() -> None:
    answer = ask(facts(None, 1), elsewhere("E5", 7152.0, 2))
    assert numbers(answer.ranked) == [2, 1]
    assert answer.is_solved


def test_what_was_logged_for_it_and_sounds_elsewhere_is_history_and_no_hit() -> None:
    answer = ask(facts(-60.0, 1), facts(40.0, 2))
    assert (answer.ranked, numbers(answer.history)) == ((), [2, 1])
    assert answer.best is None
    assert not answer.is_solved
    assert [str(sounds_as(INSTRUMENT, each.facts.sounding_cents)) for each in answer.history] == [
        "D5 −10", "C sharp 5 −10",
    ]  # fmt: skip
    there = a_judge(facts(40.0, 2)).answer(D5)
    assert numbers(there.ranked) == [2], "shown where it sounds"


def test_a_wider_look_adds_to_the_list_and_changes_no_standing() -> None:
    every = (facts(0.0, 1), facts(20.0, 2), facts(-30.0, 3), facts(None, 4, sounding_cents=7120.0))
    narrow, wide = ask(*every), ask(*every, width_cents=30.0)
    assert numbers(narrow.ranked) == [1, 2]
    assert numbers(wide.ranked) == [1, 2, 4, 3]
    assert wide.best == narrow.best
    assert wide.serving[:2] == narrow.serving
    standings = {each.facts.fingering_id: each.standing for each in wide.ranked}
    assert standings[3] is Standing.ELSEWHERE
    assert not ask(facts(-30.0, 3), width_cents=200.0).is_solved


def test_what_does_not_speak_is_apart_as_far_as_it_was_meant_and_on_both_sides_alike() -> None:
    mute = [
        facts(None, number, target_cents=7150.0 + aside, does_not_speak=True)
        for number, aside in enumerate((0, 9, -9, 20, -20), start=1)
    ]
    answer = ask(*mute)
    assert (answer.ranked, answer.best) == ((), None)
    assert sorted(numbers(answer.silent)) == [1, 2, 3]
    assert sorted(numbers(ask(*mute, width_cents=20.0).silent)) == [1, 2, 3, 4, 5]
    assert ask(facts(0.0, 1, does_not_speak=True)).silent, "takes or not, it does not speak"


def test_the_tolerance_of_a_note_comes_before_the_players() -> None:
    assert ask(facts(8.0)).is_solved
    assert not ask(facts(8.0), own_tolerance_cents=5.0).is_solved
    assert ask(facts(18.0), own_tolerance_cents=20.0).is_solved
    assert not ask(facts(8.0), tolerance_cents=5.0).is_solved
    answer = a_judge(elsewhere("E5", 7408.0, 1), own_tolerance_cents=5.0).answer(E5)
    assert answer.is_solved, "the tolerance of one note says nothing of another"


def test_the_choice_comes_first_while_it_serves() -> None:
    every = (facts(1.0, 1), facts(20.0, 2), facts(None, 3))
    assert numbers(ask(*every, words={2: MINE}).ranked) == [2, 1, 3]
    assert numbers(ask(*every, words={3: MINE}).ranked) == [3, 1, 2]
    soft = Word(Role.MINE, (Circumstance.SOFT,))
    assert numbers(ask(*every, words={3: MINE, 2: soft}).ranked) == [3, 2, 1]


@pytest.mark.parametrize(
    ("offset_cents", "changes", "remark"),
    [
        (20.0, {}, "Your choice lies +20.0 cents off; another fingering is in tune."),
        (None, {}, "Your choice is not tried; another fingering is in tune."),
        (-43.0, {}, "Your choice sounds C sharp 5 +7, so it no longer comes first."),
        (0.0, {"does_not_speak": True},
         "Your choice is noted as not speaking, so it no longer comes first."),
    ],
)  # fmt: skip
def test_what_has_become_of_a_choice_is_said(
    offset_cents: float | None, changes: dict[str, bool], remark: str
) -> None:
    answer = ask(facts(1.0, 1), facts(offset_cents, 2, **changes), words={2: MINE})
    assert [str(each) for each in answer.remarks] == [remark]
    assert answer.is_solved
    assert (answer.best is not None and answer.best.facts.fingering_id == 2) == (
        "no longer" not in remark
    )


def test_a_choice_that_is_the_best_there_is_needs_no_remark() -> None:
    for offset_cents in (20.0, None):
        assert ask(facts(offset_cents, 2), words={2: MINE}).remarks == ()
    assert ask(facts(3.0, 2), facts(1.0, 1), words={2: MINE}).remarks == ()
    assert ask(facts(20.0, 2), facts(1.0, 1), words={2: MINE, 1: REJECTED}).remarks == ()


def test_a_choice_for_a_circumstance_is_named_with_it() -> None:
    fast = Word(Role.MINE, (Circumstance.FAST,))
    (remark,) = ask(facts(None, 1, does_not_speak=True), words={1: fast}).remarks
    assert str(remark).startswith("Your choice for fast passages is noted")


def test_a_choice_counts_for_its_note_however_far_it_sounds_or_was_meant() -> None:
    far = elsewhere("E5", 7400.0, 1)
    answer = ask(far, facts(2.0, 2), words={1: MINE})
    assert (numbers(answer.ranked), numbers(answer.history)) == ([2], [1])
    assert [str(each) for each in answer.remarks] == [
        "Your choice sounds E5, so it no longer comes first."
    ]
    meant = elsewhere("E5", 7400.0, 1, take_count=0, uncertainty_cents=None)
    assert numbers(ask(meant, facts(2.0, 2), words={1: MINE}).ranked) == [1, 2]


def test_a_rejected_one_is_last_and_never_solves_the_note() -> None:
    answer = ask(facts(0.0, 1), facts(24.0, 2), facts(None, 3), words={1: REJECTED})
    assert numbers(answer.ranked) == [2, 3, 1]
    assert not answer.is_solved
    assert numbers(answer.serving) == [2, 3]
    alone = ask(facts(0.0, 1), words={1: REJECTED})
    assert (numbers(alone.ranked), alone.best, alone.reason) == ([1], None, "")


def test_an_alternate_ranks_as_any_other() -> None:
    every = (facts(1.0, 1, resistance=4), facts(2.0, 2, resistance=1))
    assert numbers(ask(*every, words={1: ALTERNATE}).ranked) == [2, 1]


def test_only_choices_are_those_for_this_very_note() -> None:
    every = (facts(1.0, 1), facts(2.0, 2), facts(None, 3, does_not_speak=True), facts(90.0, 4))
    answer = ask(*every, words={2: MINE, 1: ALTERNATE}, is_choice_only=True)
    assert (numbers(answer.ranked), answer.silent, answer.history) == ([2], (), ())
    judge = a_judge(*every, words={2: MINE})
    assert judge.answer(D5, width_cents=60.0, is_choice_only=True).ranked == ()


def test_a_word_is_found_by_the_exact_cents_however_the_note_is_spelt() -> None:
    spelt = WrittenPitch.from_canonical("C#5+50c")
    answer = ask(facts(0.0, 2, resistance=5), facts(0.0, 1), words={2: MINE}, written=spelt)
    assert numbers(answer.ranked) == [2, 1]
    # a just third above F4 is no quarter tone, and has words of its own
    just = WrittenPitch.from_cents(Fraction("7350.314"))
    assert numbers(ask(facts(0.0, 2, resistance=5), facts(0.0, 1), words={2: MINE}, written=just)
                   .ranked) == [1, 2]  # fmt: skip


@pytest.mark.parametrize(
    ("offset_cents", "canonical"),
    [(0.0, "D5-50c"), (None, "D5-50c"), (20.0, "D5-50c"), (-20.0, "D5-50c"), (-30.0, "C#5"),
     (30.0, "D5"), (110.0, "D5+50c")],
)  # fmt: skip
def test_a_fingering_belongs_where_it_was_meant_unless_it_sounds_elsewhere(
    offset_cents: float | None, canonical: str
) -> None:
    ((found, _),) = a_judge(facts(offset_cents)).place_all()
    assert found.cents == WrittenPitch.from_canonical(canonical).cents


def test_the_choices_of_an_instrument_come_with_their_notes() -> None:
    words = {(1, "7350"): {1: MINE, 2: REJECTED}, (1, "22051/3"): {1: MINE}, (2, "7350"): {9: MINE}}
    known = FactColumns.of_facts([facts(0.0, 1), facts(0.0, 2)])
    judge = Judge(INSTRUMENT, OrderedFacts.of(known), words, {}, 10.0)
    assert [(each.cents, known.fingering_id) for each, known in judge.find_choices()] == [
        (7350, 1), (Fraction(22051, 3), 1),
    ]  # fmt: skip


def test_what_sounds_outside_the_range_is_counted() -> None:
    judge = a_judge(*(facts(cents, number) for number, cents in enumerate((-30.0, -25.0, 25.0))))
    assert judge.count_outside(WRITTEN, WRITTEN, 25.0) == 2, "halfway belongs to the upper one"


def test_a_sounding_pitch_is_named_as_the_nearest_quarter_tone_and_what_is_left() -> None:
    assert str(sounds_as(INSTRUMENT, 7150.0)) == "D quarter-flat 5"
    assert str(sounds_as(INSTRUMENT, 7157.2)) == "D quarter-flat 5 +7"
    assert str(sounds_as(INSTRUMENT, 7149.6)) == "D quarter-flat 5"
    # the same sound is B natural, which is H in German
    assert str(sounds_as(INSTRUMENT, 6903.0)) == "B4 +3"
    assert sounds_as(INSTRUMENT, 6903.0).in_words(NoteNames.GERMAN) == "H4 +3"


def test_one_fingering_is_judged_with_the_players_word_on_it() -> None:
    judge = a_judge(facts(0.0, 1), words={1: REJECTED})
    assert judge.judge(facts(0.0, 1), note()).is_rejected
    assert judge.judge(facts(0.0, 2), note()).word is None
