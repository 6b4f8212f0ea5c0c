"""Practices: what belongs to them, and what their tuning note says."""

import math
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from sqlalchemy import select

from analysis.day import find_pull_effect
from analysis.pitch import NoteNames, Register
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.practice.practice import (
    PracticeDraft,
    change_practice,
    end_practice,
    list_practices,
    open_practice,
    start_practice,
)
from webapp.notebook.practice.tuning_notes import attach_tuning_note, choose_tuning_take
from webapp.notebook.safekeeping.bin import empty_bin, put_in_bin
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import ClipRefused, FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import LONGEST_PRACTICE, Practice, Take, TuningNote
from webapp.notebook.takes.tuning_reference import open_days

ENGLISH = NoteNames.ENGLISH
D5_QUARTER_FLAT = 7350.0


def begin(notebook: Notebook, instrument: int, **facts: Any) -> int:
    return start_practice(notebook, instrument, PracticeDraft(**facts))


def take_of(notebook: Notebook, take_id: int) -> Take:
    with notebook.database.reading() as session:
        return session.get_one(Take, take_id)


def tune(notebook: Notebook, practice: int, f0_hz: float, written: str = "B4") -> None:
    attach_tuning_note(
        notebook,
        practice,
        BytesIO(tone_wav(f0_hz, 0.8)),
        written=written,
        original_name="tuning.wav",
        names=ENGLISH,
    )


def test_takes_of_an_open_practice_inherit_its_tuning_and_temperature(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    before = take_maker(notebook, fingering, 508.0)
    practice = begin(notebook, clarinet, tuning_a_hz=442.0, air_temperature_c=18.5)
    during = take_maker(notebook, fingering, 508.0)
    own = take_maker(notebook, fingering, 508.0, tuning_a_hz=441.0, air_temperature_c=20.0)
    end_practice(notebook, practice)
    after = take_maker(notebook, fingering, 508.0)

    found = [take_of(notebook, each) for each in (before, during, own, after)]
    assert [each.practice_id for each in found] == [None, practice, practice, None]
    assert [each.tuning_a_hz for each in found] == [440.0, 442.0, 441.0, 440.0]
    assert [each.air_temperature_c for each in found] == [None, 18.5, 20.0, None]


def test_a_take_of_another_day_does_not_belong_to_todays_practice(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    begin(notebook, clarinet)
    old = take_maker(notebook, fingering, 508.0, recorded_at=now_utc() - timedelta(days=3))
    assert take_of(notebook, old).practice_id is None


def test_a_practice_takes_in_only_its_own_instrument(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    other = log(notebook, add_clarinet(notebook, "Another"), "D5 -50", "T R 123 | 12-")
    begin(notebook, clarinet)
    assert take_of(notebook, take_maker(notebook, other, 508.0)).practice_id is None


def test_a_practice_that_nobody_ended_is_over_the_next_day(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet)
    with notebook.database.writing() as session:
        row = session.get_one(Practice, practice)
        row.started_at = now_utc() - LONGEST_PRACTICE - timedelta(minutes=1)
    assert take_of(notebook, take_maker(notebook, fingering, 508.0)).practice_id is None
    assert not open_practice(notebook, practice).is_open
    begin(notebook, clarinet)  # and another one can begin


def test_one_practice_of_an_instrument_is_open_at_a_time(notebook: Notebook, clarinet: int) -> None:
    begin(notebook, clarinet)
    with pytest.raises(Refused, match="open already"):
        begin(notebook, clarinet)


@pytest.mark.parametrize(
    ("facts", "field"),
    [({"tuning_a_hz": 300.0}, "tuning_a_hz"), ({"air_temperature_c": 80.0}, "air_temperature_c")],
)
def test_a_practice_refuses_what_cannot_be(
    notebook: Notebook, clarinet: int, facts: dict[str, float], field: str
) -> None:
    with pytest.raises(FieldRefused) as refused:
        begin(notebook, clarinet, **facts)
    assert refused.value.field == field


def test_offsets_are_told_from_the_recorded_tuning_note(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    practice = begin(notebook, clarinet, tuning_a_hz=442.0)
    # Written B4 sounds A4 on a B-flat clarinet: 5 cents flat of 442 Hz.
    tune(notebook, practice, 442.0 * 2 ** (-5 / 1200))
    take = take_maker(
        notebook,
        fingering,
        sounding_hz(D5_QUARTER_FLAT + 3, a4_hz=442.0),
        uncertainty_cents=0.3,
    )

    page = open_practice(notebook, practice)
    assert page.reference is not None
    assert page.reference.notes[-1].offset.offset_cents == pytest.approx(-5.0, abs=0.05)
    (compared,) = page.takes
    assert compared.offset is not None and compared.relative is not None
    assert compared.offset.offset_cents == pytest.approx(3.0, abs=1e-6)
    assert compared.relative.offset_cents == pytest.approx(8.0, abs=0.05)
    # squares add (GUM 5.1): take, tuning note, and the usual 0.3 mm of pull, which moves the two
    # notes by different amounts
    b4, d5 = (
        find_pull_effect(sounding_hz(each, a4_hz=442.0), Register.CLARION)
        for each in (7100.0, D5_QUARTER_FLAT)
    )
    # a note is trusted to a thousandth of a cent at best
    note_cents = max(page.reference.notes[-1].offset.uncertainty_cents, 0.001)
    combined = math.hypot(0.3, note_cents, (d5 - b4) * 0.3)
    assert compared.relative.uncertainty_cents == pytest.approx(combined)

    entry = open_fingering(notebook, fingering)
    days = open_days(notebook, entry.fingering, entry.takes)
    assert days.by_take[take].relative == compared.relative
    assert days.pooled is not None and days.pooled.take_count == 1
    assert days.missing_count == 0


def test_a_take_can_stand_for_the_day_and_says_nothing_about_itself(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    b4 = log(notebook, clarinet, "B4", "T R 123 | 123")
    practice = begin(notebook, clarinet)
    note = take_maker(notebook, b4, sounding_hz(7100 + 6))
    take = take_maker(notebook, fingering, sounding_hz(D5_QUARTER_FLAT + 10))
    choose_tuning_take(notebook, practice, note)

    page = open_practice(notebook, practice)
    by_take = {each.take.id: each for each in page.takes}
    assert by_take[note].is_reference
    assert by_take[note].relative is None
    relative = by_take[take].relative
    assert relative is not None
    assert relative.offset_cents == pytest.approx(4.0, abs=1e-6)

    put_in_bin(notebook, "take", note)
    assert open_practice(notebook, practice).reference is None


def test_a_tuning_changed_in_the_middle_moves_no_distance_from_the_tuning_note(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    # Two sounds lie as far apart whatever A they are written against.
    practice = begin(notebook, clarinet)
    tune(notebook, practice, 440.0)
    take_maker(notebook, fingering, sounding_hz(D5_QUARTER_FLAT + 3))
    change_practice(notebook, practice, tuning_a_hz=443.0, air_temperature_c=None)
    later = take_maker(notebook, fingering, sounding_hz(D5_QUARTER_FLAT + 3))

    page = open_practice(notebook, practice)
    offsets = [each.offset.offset_cents for each in page.takes if each.offset]
    # 443 Hz lies 1200 log2(443 / 440) cents above 440 Hz
    assert offsets[1] - offsets[0] == pytest.approx(-1200 * math.log2(443 / 440))
    relative = [each.relative.offset_cents for each in page.takes if each.relative]
    assert relative == pytest.approx([3.0, 3.0], abs=0.05)
    assert page.reference is not None
    assert page.reference.notes[-1].at(440.0).offset_cents == pytest.approx(0.0, abs=0.05)

    entry = open_fingering(notebook, fingering)
    day = open_days(notebook, entry.fingering, entry.takes).by_take[later]
    assert day.relative is not None
    assert day.relative.offset_cents == pytest.approx(3.0, abs=0.05)


def test_the_newest_tuning_note_counts_and_earlier_ones_are_kept(
    notebook: Notebook, clarinet: int
) -> None:
    practice = begin(notebook, clarinet)
    tune(notebook, practice, 440.0)
    tune(notebook, practice, 440.0 * 2 ** (7 / 1200))
    reference = open_practice(notebook, practice).reference
    assert reference is not None
    assert reference.notes[-1].offset.offset_cents == pytest.approx(7.0, abs=0.05)
    with notebook.database.reading() as session:
        assert len(list(session.scalars(select(TuningNote)))) == 2
    assert check_clips(notebook).is_sound


def test_without_a_tuning_note_the_reference_is_missing(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    begin(notebook, clarinet)
    take = take_maker(notebook, fingering, 508.0)
    entry = open_fingering(notebook, fingering)
    days = open_days(notebook, entry.fingering, entry.takes)
    assert days.by_take[take].reference is None
    assert (days.pooled, days.missing_count) == (None, 1)


def test_a_tuning_note_that_is_no_note_or_another_one_is_refused(
    notebook: Notebook, clarinet: int
) -> None:
    practice = begin(notebook, clarinet)
    with pytest.raises(FieldRefused, match="another note") as refused:
        tune(notebook, practice, 466.16)  # a semitone higher
    assert refused.value.field == "written"
    with pytest.raises(FieldRefused):
        tune(notebook, practice, 440.0, written="no note")
    with pytest.raises(ClipRefused):
        attach_tuning_note(
            notebook,
            practice,
            BytesIO(noise_wav()),
            written="B4",
            original_name="",
            names=ENGLISH,
        )
    with pytest.raises(ClipRefused):
        attach_tuning_note(
            notebook,
            practice,
            BytesIO(b"Dear reader"),
            written="B4",
            original_name="",
            names=ENGLISH,
        )
    assert notebook.clips.names() == frozenset()


def test_only_a_measured_take_of_the_practice_can_stand_for_it(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    outside = take_maker(notebook, fingering, 508.0)
    practice = begin(notebook, clarinet)
    with pytest.raises(FieldRefused, match="one of the takes of this session"):
        choose_tuning_take(notebook, practice, outside)


def test_practices_are_listed_newest_first(
    notebook: Notebook, clarinet: int, fingering: int, take_maker: TakeMaker
) -> None:
    first = begin(notebook, clarinet)
    take_maker(notebook, fingering, 508.0)
    end_practice(notebook, first)
    second = begin(notebook, clarinet)
    listed = list_practices(notebook, clarinet)
    assert [(each.practice.id, each.take_count, each.is_open) for each in listed] == [
        (second, 0, True),
        (first, 1, False),
    ]


def test_a_practice_of_a_binned_instrument_cannot_be_opened_and_goes_with_it(
    notebook: Notebook, clarinet: int
) -> None:
    practice = begin(notebook, clarinet)
    tune(notebook, practice, 440.0)
    put_in_bin(notebook, "instrument", clarinet)
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        open_practice(notebook, practice)
    assert empty_bin(notebook) == 1
    assert notebook.clips.names() == frozenset()
    with pytest.raises(NotInNotebook, match="no practice session"):
        open_practice(notebook, practice)
