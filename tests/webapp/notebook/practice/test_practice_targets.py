"""The list of a practice: what gets on it, in which order it stands, what becomes of it."""

from datetime import timedelta
from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames
from tests.webapp.finder_fakes import OTHER, RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.playing import listed, sounding_hz
from tests.webapp.snapshots import counted_queries
from webapp.notebook.finder.plans import PlanOrder
from webapp.notebook.finder.tries import SuggestionNote, settle_try, take_up
from webapp.notebook.practice.practice import (
    change_practice,
    end_practice,
    open_practice,
)
from webapp.notebook.practice.practice_targets import (
    TARGETS_AT_MOST,
    add_gaps,
    add_tries,
    add_typed,
    add_unmeasured,
    move_target,
    remove_target,
    settle_target,
)
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import (
    LONGEST_PRACTICE,
    Practice,
    PracticeTarget,
    TargetState,
    TryState,
)

ENGLISH = NoteNames.ENGLISH


def texts(notebook: Notebook, practice: int) -> list[str]:
    return [row.target_text for row in listed(notebook, practice)]


def type_in(notebook: Notebook, practice: int, text: str, names: NoteNames = ENGLISH) -> int:
    return add_typed(notebook, practice, text, names=names)


def test_typed_pitches_stand_on_the_list_in_their_order(notebook: Notebook, practice: int) -> None:
    count = type_in(notebook, practice, "D quarter-flat 5, C#5 +25\n\n  E5;F5 ,G5\n")
    assert count == 5
    assert texts(notebook, practice) == ["D5-50c", "C#5+25c~100", "E5", "F5", "G5"]
    assert type_in(notebook, practice, "A5") == 1
    assert texts(notebook, practice)[-1] == "A5"


def test_a_comma_within_a_number_parts_nothing(notebook: Notebook, practice: int) -> None:
    # 466.16 Hz sounds B flat 4, written C5 on a B-flat soprano (equal temperament, A = 440)
    assert type_in(notebook, practice, "D5 +12,5, 466,1638 Hz") == 2
    first, second = listed(notebook, practice)
    assert first.target_text == "D5+25/2c~0"
    assert float(second.written.cents) == pytest.approx(7200.0, abs=0.01)


def test_typed_pitches_are_read_in_the_players_language(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, "B4, H4", NoteNames.GERMAN)
    assert texts(notebook, practice) == ["Bb4", "B4"]


def test_what_cannot_be_read_is_named_with_its_place_and_nothing_is_kept(
    notebook: Notebook, practice: int
) -> None:
    with pytest.raises(FieldRefused, match="Note 3, “spoon”") as refused:
        type_in(notebook, practice, "D5, E5\nspoon, F5")
    assert refused.value.field == "targets"
    with pytest.raises(FieldRefused, match="Note 1, “D”"):
        type_in(notebook, practice, "D")
    with pytest.raises(FieldRefused, match="at least one"):
        type_in(notebook, practice, " ,; \n")
    assert texts(notebook, practice) == []


def test_what_is_open_on_the_list_is_not_put_there_twice_and_what_is_done_may_come_again(
    notebook: Notebook, practice: int
) -> None:
    type_in(notebook, practice, "D5, D5, E5")
    assert texts(notebook, practice) == ["D5", "E5"]
    with pytest.raises(FieldRefused, match="on the list already"):
        type_in(notebook, practice, "D5")
    settle_target(notebook, listed(notebook, practice)[0].id, TargetState.DONE)
    assert type_in(notebook, practice, "D5") == 1


def test_a_list_that_is_full_takes_nothing_more(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, ", ".join(f"D5 +{cents}" for cents in range(1, TARGETS_AT_MOST)))
    type_in(notebook, practice, "D5")
    with pytest.raises(FieldRefused, match=f"{TARGETS_AT_MOST} is the limit"):
        type_in(notebook, practice, "E5")
    assert len(texts(notebook, practice)) == TARGETS_AT_MOST


def test_gaps_are_steps_that_are_not_solved_lowest_first(
    notebook: Notebook, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    in_tune = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    take_maker(notebook, in_tune, sounding_hz(7350 + 4))
    log(notebook, clarinet, "D5 +50", "T R 123 | 1--")  # never recorded: a gap
    far = log(notebook, clarinet, "E5 -50", "T R 12- | ---")
    take_maker(notebook, far, sounding_hz(7550 + 30))  # measured, but of another pitch
    order = PlanOrder(24, "C5", "F5", 10.0)
    assert add_gaps(notebook, practice, order, count=3, names=ENGLISH) == 3
    # quarter tones from C5 to F5 without the semitones, and without D5 -50
    assert texts(notebook, practice) == ["C5+50c", "D5+50c", "E5-50c"]
    assert add_gaps(notebook, practice, order, count=3, names=ENGLISH) == 1
    assert texts(notebook, practice)[3:] == ["E5+50c"]
    with pytest.raises(FieldRefused, match="solved or on the list"):
        add_gaps(notebook, practice, order, count=3, names=ENGLISH)


def test_gaps_of_eighth_tones_lie_between_the_quarter_tones(
    notebook: Notebook, practice: int
) -> None:
    order = PlanOrder(48, "C5", "D5", 10.0)
    assert add_gaps(notebook, practice, order, count=9, names=ENGLISH) == 6
    found = [float(row.written.cents) for row in listed(notebook, practice)]
    assert found == [7225, 7250, 7275, 7325, 7350, 7375]


@pytest.mark.parametrize(
    ("order", "count", "field"),
    [
        (PlanOrder(25), 5, "grid"),
        (PlanOrder(24, "nonsense"), 5, "low"),
        (PlanOrder(24, "D5", "C5"), 5, "high"),
        (PlanOrder(24), 0, "count"),
        (PlanOrder(24), TARGETS_AT_MOST + 1, "count"),
    ],
)
def test_gaps_that_cannot_be_are_refused(
    notebook: Notebook, practice: int, order: PlanOrder, count: int, field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        add_gaps(notebook, practice, order, count=count, names=ENGLISH)
    assert refused.value.field == field
    assert texts(notebook, practice) == []


def test_what_waits_for_a_recording_comes_with_its_fingering(
    notebook: Notebook, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    high = log(notebook, clarinet, "E5 +50", "T R 12- | ---")
    low = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    log(notebook, clarinet, "F5 +50", "T R 1-- | ---", does_not_speak=True)
    take_maker(notebook, log(notebook, clarinet, "A5", "T R 12- | --3"), 800.0)
    put_in_bin(notebook, "fingering", log(notebook, clarinet, "G5", "T R --- | ---"))
    log(notebook, add_clarinet(notebook, "Another"), "D5", "T R 123 | 12-")
    assert add_unmeasured(notebook, practice) == 2
    rows = listed(notebook, practice)
    assert [row.fingering_id for row in rows] == [low, high]
    assert [row.written.sign_cents for row in rows] == [0, 0], "spelled as it was logged"


def test_nothing_waiting_is_said(notebook: Notebook, practice: int) -> None:
    with pytest.raises(Refused, match="has been recorded"):
        add_unmeasured(notebook, practice)
    with pytest.raises(Refused, match="Nothing waits on the try list"):
        add_tries(notebook, practice)


def test_the_try_list_comes_with_its_suggestions(
    notebook: Notebook, clarinet: int, practice: int, fake_finder: FakeFinder
) -> None:
    del fake_finder
    numbers = [
        take_up(
            notebook, ResultCache(), clarinet, SuggestionNote("F5-50c", keys, "", Strategy.RAISED)
        )
        for keys in (RAISED_E5, OTHER)
    ]
    dismissed = take_up(
        notebook, ResultCache(), clarinet, SuggestionNote("G5-50c", OTHER, "", Strategy.RAISED)
    )
    settle_try(notebook, dismissed, TryState.DISMISSED)
    assert add_tries(notebook, practice) == 2
    assert [row.suggestion_id for row in listed(notebook, practice)] == numbers


def test_targets_are_moved_and_stop_at_the_ends(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, "C5, D5, E5")
    last = listed(notebook, practice)[2].id
    assert move_target(notebook, last, is_up=True) == practice
    assert texts(notebook, practice) == ["C5", "E5", "D5"]
    move_target(notebook, last, is_up=True)
    move_target(notebook, last, is_up=True)
    assert texts(notebook, practice) == ["E5", "C5", "D5"]
    move_target(notebook, last, is_up=False)
    assert texts(notebook, practice) == ["C5", "E5", "D5"]


def test_a_target_taken_off_leaves_the_others_in_order(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, "C5, D5, E5")
    remove_target(notebook, listed(notebook, practice)[1].id)
    type_in(notebook, practice, "F5")
    assert texts(notebook, practice) == ["C5", "E5", "F5"]


def test_a_target_is_marked_and_keeps_its_note(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, "C5")
    number = listed(notebook, practice)[0].id
    settle_target(notebook, number, TargetState.SKIPPED, note="  too cold \n")
    settle_target(notebook, number, TargetState.DONE)
    (row,) = listed(notebook, practice)
    assert (row.state, row.note) == ("done", "too cold")
    settle_target(notebook, number, TargetState.OPEN, note="")
    (row,) = listed(notebook, practice)
    assert (row.state, row.note) == ("open", "")


def test_a_practice_that_is_over_stays_as_it_is(notebook: Notebook, practice: int) -> None:
    type_in(notebook, practice, "C5, D5")
    number = listed(notebook, practice)[0].id
    end_practice(notebook, practice)
    for change in (
        lambda: type_in(notebook, practice, "E5"),
        lambda: add_gaps(notebook, practice, PlanOrder(24), count=3, names=ENGLISH),
        lambda: add_tries(notebook, practice),
        lambda: add_unmeasured(notebook, practice),
        lambda: move_target(notebook, number, is_up=False),
        lambda: remove_target(notebook, number),
        lambda: settle_target(notebook, number, TargetState.DONE),
        lambda: change_practice(notebook, practice, tuning_a_hz=442.0, air_temperature_c=None),
    ):
        with pytest.raises(Refused, match="is over"):
            change()
    assert texts(notebook, practice) == ["C5", "D5"]


def test_a_practice_of_yesterday_that_nobody_ended_is_over_too(
    notebook: Notebook, practice: int
) -> None:
    with notebook.database.writing() as session:
        row = session.get_one(Practice, practice)
        row.started_at = now_utc() - LONGEST_PRACTICE - timedelta(minutes=1)
    with pytest.raises(Refused, match="is over"):
        type_in(notebook, practice, "E5")


@pytest.mark.parametrize("number", [99, 2**70])
def test_what_is_not_there_is_said(notebook: Notebook, practice: int, number: int) -> None:
    with pytest.raises(NotInNotebook, match="no practice session"):
        type_in(notebook, number, "D5")
    with pytest.raises(NotInNotebook, match="no target number"):
        remove_target(notebook, number)
    with pytest.raises(NotInNotebook, match="no target number"):
        move_target(notebook, number, is_up=True)
    with pytest.raises(NotInNotebook, match="no target number"):
        settle_target(notebook, number, TargetState.DONE)


def test_a_list_goes_with_its_instrument(notebook: Notebook, clarinet: int, practice: int) -> None:
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    add_unmeasured(notebook, practice)
    put_in_bin(notebook, "instrument", clarinet)
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        type_in(notebook, practice, "E5")
    empty_bin(notebook)
    with notebook.database.reading() as session:
        assert session.query(PracticeTarget).count() == 0


def test_the_number_of_queries_does_not_grow_with_the_list(
    notebook: Notebook, clarinet: int, practice: int
) -> None:
    counts = []
    for target in ("D5 -50", "E5 -50", "F5 +50"):
        log(notebook, clarinet, target, "T R 123 | 12-")
        add_unmeasured(notebook, practice)
        with counted_queries(notebook) as statements:
            listed(notebook, practice)
        counts.append(len(statements))
    assert len(set(counts)) == 1


def test_tuning_and_temperature_change_for_the_takes_from_then_on(
    notebook: Notebook, clarinet: int, practice: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    take_maker(notebook, fingering, 508.0)
    change_practice(notebook, practice, tuning_a_hz=442.0, air_temperature_c=17.5)
    take_maker(notebook, fingering, 508.0)
    change_practice(notebook, practice, tuning_a_hz=None, air_temperature_c=None)
    takes = [each.take for each in open_practice(notebook, practice).takes]
    assert [take.tuning_a_hz for take in takes] == [440.0, 442.0]
    assert [take.air_temperature_c for take in takes] == [None, 17.5]
    row = open_practice(notebook, practice).practice
    assert (row.tuning_a_hz, row.air_temperature_c) == (442.0, None)


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"tuning_a_hz": 300.0, "air_temperature_c": None}, "tuning_a_hz"),
        ({"tuning_a_hz": 440.0, "air_temperature_c": 80.0}, "air_temperature_c"),
        (
            {"tuning_a_hz": 440.0, "air_temperature_c": None, "barrel_pull_mm": -1.0},
            "barrel_pull_mm",
        ),
        ({"tuning_a_hz": 440.0, "air_temperature_c": None, "reed": 201 * "3"}, "reed"),
    ],
)
def test_facts_that_cannot_be_are_refused(
    notebook: Notebook, practice: int, facts: dict[str, Any], field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        change_practice(notebook, practice, **facts)
    assert refused.value.field == field
    assert open_practice(notebook, practice).practice.tuning_a_hz == 440.0
