"""Summary of a practice, from takes whose measurement is stated."""

import math
from datetime import timedelta
from typing import Any

import pytest

from analysis.finder import Strategy
from analysis.pitch import NoteNames
from analysis.recording import TakeOffset, Verdict, pool_takes
from tests.webapp.finder_fakes import RAISED_E5, FakeFinder
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.playing import listed, sounding_hz
from tests.webapp.snapshots import counted_queries
from webapp.notebook.finder.tries import SuggestionNote, take_up
from webapp.notebook.finder.trying import log_try
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.practice_summary import Movement, summarise_practice
from webapp.notebook.practice.practice_targets import add_typed, settle_target
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import TargetState

D5_QUARTER_FLAT = 7350.0
LONG_AGO = timedelta(days=3)


def play(
    take_maker: TakeMaker, notebook: Notebook, fingering: int, *offsets: float, **note: Any
) -> list[int]:
    """Attach takes that lie so many cents from D5 a quarter tone flat."""
    return [
        take_maker(notebook, fingering, sounding_hz(D5_QUARTER_FLAT + each), **note)
        for each in offsets
    ]


def begin(notebook: Notebook, clarinet: int) -> int:
    return start_practice(notebook, clarinet, PracticeDraft())


def test_what_is_proven_for_the_first_time_is_told_from_what_was_proven_before(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    new = log(notebook, clarinet, "D5 -50", "T R 123 | 1--")
    play(take_maker, notebook, fingering, 4.0, 6.0, recorded_at=now_utc() - LONG_AGO)
    practice = begin(notebook, clarinet)
    play(take_maker, notebook, fingering, 5.0)
    play(take_maker, notebook, new, -2.0, -3.0, -4.0)
    page = summarise_practice(notebook, practice)
    (first,) = page.first
    (again,) = page.again
    assert first.fingering.id == new
    assert first.movement is None
    # pooled as everywhere: the way of pooling has tests of its own
    assert first.today == pool_takes([TakeOffset(each, 0.5) for each in (-2.0, -3.0, -4.0)])
    assert again.fingering.id == fingering
    assert again.before == pool_takes([TakeOffset(4.0, 0.5), TakeOffset(6.0, 0.5)])


@pytest.mark.parametrize(("today", "has_moved"), [(5.0, False), (30.0, True), (-20.0, True)])
def test_moved_is_more_than_twice_the_uncertainty_of_the_difference(
    notebook: Notebook,
    clarinet: int,
    fingering: int,
    take_maker: TakeMaker,
    today: float,
    has_moved: bool,
) -> None:
    play(take_maker, notebook, fingering, 4.0, 6.0, recorded_at=now_utc() - LONG_AGO)
    practice = begin(notebook, clarinet)
    play(take_maker, notebook, fingering, today, today)
    page = summarise_practice(notebook, practice)
    (proof,) = page.again
    movement = proof.movement
    assert movement is not None and proof.before is not None
    assert movement.difference_cents == pytest.approx(today - 5.0, abs=1e-6)
    # squares add (GUM 5.1)
    assert movement.uncertainty_cents == pytest.approx(
        math.hypot(proof.today.uncertainty_cents, proof.before.uncertainty_cents)
    )
    assert movement.has_moved == has_moved
    assert page.moved_count == int(has_moved)


@pytest.mark.parametrize(("cents", "has_moved"), [(2.0, False), (-2.0, False), (2.01, True)])
def test_two_sigma_is_not_yet_moved(cents: float, has_moved: bool) -> None:
    assert Movement(cents, 1.0).has_moved == has_moved


def test_takes_after_the_practice_and_binned_ones_say_nothing(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet)
    play(take_maker, notebook, fingering, 5.0)
    (wrong,) = play(take_maker, notebook, fingering, 90.0)
    put_in_bin(notebook, "take", wrong)
    end_practice(notebook, practice)
    play(take_maker, notebook, fingering, 50.0)
    page = summarise_practice(notebook, practice)
    (proof,) = page.proofs
    assert proof.is_first
    assert proof.today.offset_cents == pytest.approx(5.0)
    assert proof.today.take_count == 1
    put_in_bin(notebook, "fingering", fingering)
    assert summarise_practice(notebook, practice).proofs == ()


def test_a_take_that_waited_until_the_practice_was_over_belongs_to_it(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet)
    played_at = now_utc()
    end_practice(notebook, practice)
    play(take_maker, notebook, fingering, 5.0, recorded_at=played_at)
    assert len(summarise_practice(notebook, practice).proofs) == 1


def test_what_was_played_without_a_pitch_is_named(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet)
    take_maker(notebook, fingering, None, verdict=Verdict.NOISE)
    page = summarise_practice(notebook, practice)
    assert (page.proofs, [each.id for each in page.unmeasured]) == ((), [fingering])


def test_what_was_predicted_stands_beside_what_was_measured(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker, fake_finder: FakeFinder
) -> None:
    del fake_finder
    note = SuggestionNote("D5-50c", RAISED_E5, "", Strategy.RAISED)
    number = take_up(notebook, ResultCache(), clarinet, note)
    practice = begin(notebook, clarinet)
    play(take_maker, notebook, log_try(notebook, number), 1.0)
    (proof,) = summarise_practice(notebook, practice).proofs
    assert proof.suggestion is not None
    assert proof.suggestion.predicted_offset_cents == -7.0


def test_what_stays_open_on_the_list_is_told(notebook: Notebook, clarinet: int) -> None:
    practice = begin(notebook, clarinet)
    add_typed(notebook, practice, "C5, D5, E5", names=NoteNames.ENGLISH)
    first, second, _ = listed(notebook, practice)
    settle_target(notebook, first.id, TargetState.DONE)
    settle_target(notebook, second.id, TargetState.SKIPPED)
    page = summarise_practice(notebook, practice)
    assert [row.target_text for row in page.left] == ["D5", "E5"]
    assert len(page.with_state("done")) == 1


def test_the_number_of_queries_does_not_grow_with_the_takes(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet)
    counts = []
    for keys in ("T R 123 | 12-", "T R 123 | 1--", "T R 12- | 12-"):
        play(take_maker, notebook, log(notebook, clarinet, "D5 -50", keys), 3.0, 4.0)
        with counted_queries(notebook) as statements:
            summarise_practice(notebook, practice)
        counts.append(len(statements))
    assert len(set(counts)) == 1


def test_a_practice_that_is_not_there_is_said(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook, match="no practice session"):
        summarise_practice(notebook, 99)
