"""Pitch against the base as it is played, and between dynamics.

Expected cents are written out: 1200 log2 of the ratio of the frequencies put in.
"""

import math

import pytest

from analysis.pitch import SoundingPitch, Transposition, Tuning, WrittenPitch
from tests.webapp.logging_rows import TakeMaker, add_clarinet, attach, log
from tests.webapp.snapshots import counted_queries
from tests.webapp.tones import silent_wav
from webapp.notebook.fingerings.evenness import compare_takes
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.fingerings.shifts import BaseShift, find_dynamic_shifts, shift_from_base
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.tuning_notes import choose_tuning_take
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.evidence import correct_for_day

F_SHARP = "T R 123 | -2-"
FORK = "T R 123 | -2- | right cross"
PRIOR_CENTS = 3.0  # what a single take's offset is known to


@pytest.fixture(name="soprano")
def _soprano(notebook: Notebook) -> int:
    return add_clarinet(notebook)


def sounding_hz(target: str, off_cents: float = 0.0) -> float:
    """The frequency of a written note on a B-flat soprano at A = 440, moved by some cents."""
    sounding = Transposition(-200).to_sounding(WrittenPitch.from_canonical(target))
    return sounding.hz(Tuning(440.0)) * 2 ** (off_cents / 1200)


def shift_of(notebook: Notebook, fingering_id: int) -> BaseShift | None:
    fingering = open_fingering(notebook, fingering_id).fingering
    with notebook.database.reading() as session:
        return shift_from_base(session, fingering)


def test_the_shift_is_between_the_two_measured_pitches(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    base = log(notebook, soprano, "F#5", F_SHARP)
    derived = log(notebook, soprano, "G5 -50", FORK, base=f"logged:{base}")
    take_maker(notebook, base, sounding_hz("F#5", 3.2))
    take_maker(notebook, derived, sounding_hz("G5-50c", 1.9))
    found = shift_of(notebook, derived)
    assert found is not None and found.base.id == base
    # 50 + 1.9 - 3.2, each known to its own 0.5 and the scatter of a single take
    assert found.shift.offset_cents == pytest.approx(48.7, abs=1e-6)
    assert found.shift.uncertainty_cents == pytest.approx(math.sqrt(2 * (0.5**2 + PRIOR_CENTS**2)))


def test_an_ordinary_base_counts_once_it_is_logged_and_recorded(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    derived = log(notebook, soprano, "G5 -50", FORK, base="ordinary:F#5:1")
    take_maker(notebook, derived, sounding_hz("G5-50c"))
    assert shift_of(notebook, derived) is None
    base = log(notebook, soprano, "Gb5", F_SHARP)  # the same written pitch under another name
    assert shift_of(notebook, derived) is None
    take_maker(notebook, base, sounding_hz("F#5", -10))
    found = shift_of(notebook, derived)
    assert found is not None and found.shift.offset_cents == pytest.approx(60, abs=1e-6)


def test_of_several_measured_bases_the_linked_one_counts_then_the_best_proven(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    few, many, linked = (log(notebook, soprano, "F#5", F_SHARP) for _ in range(3))
    ordinary = log(notebook, soprano, "G5 -50", FORK, base="ordinary:F#5:1")
    derived = log(notebook, soprano, "G5 -50", FORK, base=f"logged:{linked}")
    for fingering, count in ((few, 1), (many, 3), (linked, 1), (ordinary, 1), (derived, 1)):
        for _ in range(count):
            take_maker(notebook, fingering, sounding_hz("F#5"))
    by_ordinary, by_link = shift_of(notebook, ordinary), shift_of(notebook, derived)
    assert by_ordinary is not None and by_ordinary.base.id == many
    assert by_link is not None and by_link.base.id == linked


def test_what_is_not_the_base_any_more_does_not_count(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    derived = log(notebook, soprano, "G5 -50", FORK, base="ordinary:F#5:1")
    take_maker(notebook, derived, sounding_hz("G5-50c"))
    elsewhere = add_clarinet(notebook, "Another one")
    binned = log(notebook, soprano, "F#5", F_SHARP)
    for fingering in (
        log(notebook, elsewhere, "F#5", F_SHARP),  # another instrument
        log(notebook, soprano, "F#5", "T R 123 | 1-- | right cross"),  # other keys
        log(notebook, soprano, "F5", F_SHARP),  # another target
        binned,
    ):
        take_maker(notebook, fingering, sounding_hz("F#5"))
    put_in_bin(notebook, "fingering", binned)
    assert shift_of(notebook, derived) is None


def test_without_a_base_or_without_takes_there_is_no_shift(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    base = log(notebook, soprano, "F#5", F_SHARP)
    take_maker(notebook, base, sounding_hz("F#5"))
    derived = log(notebook, soprano, "G5 -50", FORK, base=f"logged:{base}")
    attach(notebook, derived, silent_wav())
    assert shift_of(notebook, base) is None
    assert shift_of(notebook, derived) is None


def test_finding_the_base_is_one_query(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    base = log(notebook, soprano, "F#5", F_SHARP)
    for _ in range(5):
        take_maker(notebook, base, sounding_hz("F#5"))
    derived = log(notebook, soprano, "G5 -50", FORK, base=f"logged:{base}")
    take_maker(notebook, derived, sounding_hz("G5-50c"))
    fingering = open_fingering(notebook, derived).fingering
    with counted_queries(notebook) as asked, notebook.database.reading() as session:
        assert shift_from_base(session, fingering) is not None
    assert len([each for each in asked if each.startswith("SELECT")]) == 1


def test_a_dynamic_that_moves_the_pitch_is_found_and_takes_without_one_are_left_out(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    fingering = log(notebook, soprano, "F#5", F_SHARP)
    for dynamic, off_cents in (("ff", -12.0), ("pp", 8.0), ("pp", 9.0), (None, 90.0), (None, 95.0)):
        take_maker(notebook, fingering, sounding_hz("F#5", off_cents), dynamic=dynamic)
    page = open_fingering(notebook, fingering)
    with notebook.database.reading() as session:
        target = SoundingPitch(page.fingering.target_cents)
        offsets = correct_for_day(session, page.takes, target)
    (found,) = find_dynamic_shifts(page.takes, offsets)
    assert (found.dynamic, found.against) == ("ff", "pp")
    assert found.shift.offset_cents == pytest.approx(-12 - 8.5, abs=0.01)


def test_soft_and_loud_are_counted_as_the_figure_is(
    notebook: Notebook, soprano: int, take_maker: TakeMaker
) -> None:
    practice = start_practice(notebook, soprano, PracticeDraft())
    tuning = log(notebook, soprano, "B4", "T R 123 | 123")
    note = take_maker(notebook, tuning, sounding_hz("B4", 12.0))
    fingering = log(notebook, soprano, "F#5", F_SHARP)
    take_maker(notebook, fingering, sounding_hz("F#5", 15.0), dynamic="pp")
    take_maker(notebook, fingering, sounding_hz("F#5", 21.0), is_watched=True)
    choose_tuning_take(notebook, practice, note)
    page = open_fingering(notebook, fingering)
    with notebook.database.reading() as session:
        compared = compare_takes(session, page.fingering, page.takes)
    # 15 cents sharp on a day that is 12 cents sharp (closed formula: the difference)
    assert page.fingering.offset_cents == pytest.approx(3.0)
    assert compared.dynamics[0].offset_cents == pytest.approx(3.0)
    assert compared.lip_shift is not None
    assert compared.lip_shift.offset_cents == pytest.approx(6.0)
