"""The day is taken out of the figure of a fingering, and the figure follows the tuning note.

Offsets by closed formula: what is played, less how far the tuning note of the day lies off.
"""

import pytest

from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.playing import sounding_hz
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.fingerings.sameness import share_evidence
from webapp.notebook.practice.practice import PracticeDraft, end_practice, start_practice
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.safekeeping.bin import put_in_bin, restore
from webapp.notebook.store.notebook import Notebook

B4, D_FLAT = 7100.0, 7350.0
KEYS = "T R 123 | 12-"


def figure(notebook: Notebook, fingering_id: int) -> float | None:
    """The one figure of a fingering, in cents."""
    return open_fingering(notebook, fingering_id).fingering.offset_cents


@pytest.fixture
def tuning_take(notebook: Notebook, clarinet: int, practice: int, take_maker: TakeMaker) -> int:
    """A B4 of the open session that sounds 12 cents sharp."""
    del practice
    tuning = log(notebook, clarinet, "B4", "T R 123 | 123")
    return take_maker(notebook, tuning, sounding_hz(B4 + 12))


def test_a_figure_counts_from_the_tuning_note_of_its_day_as_soon_as_there_is_one(
    notebook: Notebook, practice: int, fingering: int, tuning_take: int, take_maker: TakeMaker
) -> None:
    take_maker(notebook, fingering, sounding_hz(D_FLAT + 15))
    assert figure(notebook, fingering) == pytest.approx(15.0)
    choose_tuning_take(notebook, practice, tuning_take)
    assert figure(notebook, fingering) == pytest.approx(3.0)
    row = open_fingering(notebook, fingering).fingering
    # both uncertainties of 0.5 cents: no smaller than their root sum of squares
    assert row.offset_uncertainty_cents is not None
    assert row.offset_uncertainty_cents >= 0.5 * 2**0.5 - 1e-9


def test_the_tuning_note_itself_counts_from_the_tuning_a(
    notebook: Notebook, practice: int, tuning_take: int
) -> None:
    choose_tuning_take(notebook, practice, tuning_take)
    assert figure(notebook, 1) == pytest.approx(12.0)


def test_a_tuning_note_in_the_bin_is_none_and_counts_again_when_it_comes_back(
    notebook: Notebook, practice: int, fingering: int, tuning_take: int, take_maker: TakeMaker
) -> None:
    take_maker(notebook, fingering, sounding_hz(D_FLAT + 15))
    choose_tuning_take(notebook, practice, tuning_take)
    put_in_bin(notebook, "take", tuning_take)
    assert figure(notebook, fingering) == pytest.approx(15.0)
    restore(notebook, "take", tuning_take)
    assert figure(notebook, fingering) == pytest.approx(3.0)


def test_what_shares_evidence_follows_the_tuning_note_of_the_others_day(
    notebook: Notebook,
    clarinet: int,
    practice: int,
    fingering: int,
    tuning_take: int,
    take_maker: TakeMaker,
) -> None:
    other = log(notebook, clarinet, "D5 -50", KEYS)
    share_evidence(notebook, fingering, is_shared=True)
    take_maker(notebook, fingering, sounding_hz(D_FLAT + 15))
    assert figure(notebook, other) == pytest.approx(15.0)
    choose_tuning_take(notebook, practice, tuning_take)
    assert figure(notebook, fingering) == pytest.approx(3.0)
    assert figure(notebook, other) == pytest.approx(3.0)


def test_each_take_counts_by_its_own_day(
    notebook: Notebook,
    clarinet: int,
    practice: int,
    fingering: int,
    tuning_take: int,
    take_maker: TakeMaker,
) -> None:
    take_maker(notebook, fingering, sounding_hz(D_FLAT + 15))
    choose_tuning_take(notebook, practice, tuning_take)
    end_practice(notebook, practice)
    start_practice(notebook, clarinet, PracticeDraft())
    take_maker(notebook, fingering, sounding_hz(D_FLAT + 3))
    assert figure(notebook, fingering) == pytest.approx(3.0)


def test_spread_and_failed_takes_are_counted(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    for spread_cents in (1.0, 9.0, 2.0):
        take_maker(notebook, fingering, sounding_hz(D_FLAT), more={"spread_cents": spread_cents})
    take_maker(notebook, fingering, None)
    row = open_fingering(notebook, fingering).fingering
    assert (row.take_count, row.failed_take_count) == (3, 1)
    assert row.spread_cents == 2.0, "the median"
