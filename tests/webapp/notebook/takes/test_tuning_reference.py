"""The state of a day from the tuning notes of a practice, through the verbs.

Truth: closed formulas. A day that shifts all notes by s cents and pulls the barrel by p mm leaves a
note at s - p e, where e is what a millimetre does to it (`find_pull_effect`).
"""

from datetime import datetime, timedelta
from io import BytesIO

import pytest

from analysis.day import find_pull_effect
from analysis.pitch import KINDS, NoteNames, Register
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import noise_wav, tone_wav
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.practice.practice import (
    PracticeDraft,
    change_practice,
    end_practice,
    learn_room_warming,
    list_practices,
    open_practice,
    start_practice,
)
from webapp.notebook.practice.tuning_notes import (
    attach_tuning_note,
    choose_tuning_take,
    leave_out_note,
    tuning_notes_of,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Practice
from webapp.notebook.takes.tuning_reference import open_days

G4, B4, D_FLAT = 6700.0, 7100.0, 7350.0
REGISTERS = {G4: Register.THROAT, B4: Register.CLARION, D_FLAT: Register.CLARION}
NAMES = {G4: "G4", B4: "B4"}
HOUR = timedelta(hours=1)


def moved(written_cents: float, shift: float, pull_mm: float) -> float:
    """How far such a day moves a note, in cents."""
    hz = sounding_hz(written_cents)
    return shift - pull_mm * find_pull_effect(hz, REGISTERS[written_cents])


class Day:
    """An open practice that began two hours ago, and what is played in it."""

    def __init__(self, notebook: Notebook, instrument: int, take_maker: TakeMaker) -> None:
        self._notebook, self._take = notebook, take_maker
        self.number = start_practice(notebook, instrument, PracticeDraft())
        self.start = now_utc() - 2 * HOUR
        with notebook.database.writing() as session:
            session.get_one(Practice, self.number).started_at = self.start
        keys = {G4: "---", B4: "T R 123 | 123 | right E"}
        self.fingerings = {
            each: log(notebook, instrument, NAMES[each], keys[each]) for each in (G4, B4)
        }
        self.fingering = log(notebook, instrument, "D5 -50", "T R 123 | 12-")

    def tune(self, written_cents: float, cents: float, at: timedelta) -> int:
        """Play a tuning note that lies so far off."""
        take = self.play(self.fingerings[written_cents], written_cents + cents, at)
        choose_tuning_take(self._notebook, self.number, take)
        return take

    def play(self, fingering: int, written_cents: float, at: timedelta) -> int:
        """Play a note at some time after the beginning."""
        hz, moment = sounding_hz(written_cents), self.start + at
        return self._take(self._notebook, fingering, hz, uncertainty_cents=0.02, recorded_at=moment)


@pytest.fixture
def day(notebook: Notebook, clarinet: int, take_maker: TakeMaker) -> Day:
    return Day(notebook, clarinet, take_maker)


def figure(notebook: Notebook, fingering: int) -> float | None:
    return open_fingering(notebook, fingering).fingering.offset_cents


@pytest.mark.parametrize(("shift", "pull_mm"), [(-14.0, 0.0), (2.0, 2.0)])
def test_two_notes_tell_a_cold_instrument_from_a_pulled_barrel(
    notebook: Notebook, day: Day, shift: float, pull_mm: float
) -> None:
    for place, note in enumerate((G4, B4)):
        day.tune(note, moved(note, shift, pull_mm), place * timedelta(minutes=1))
    day.play(day.fingering, D_FLAT + 3.0 + moved(D_FLAT, shift, pull_mm), HOUR)
    reference = open_practice(notebook, day.number).reference
    assert reference is not None and reference.state.is_pull_solved
    assert reference.state.pull_mm == pytest.approx(pull_mm, abs=0.02)
    assert reference.state.shift_cents[0] == pytest.approx(shift, abs=0.1)
    assert figure(notebook, day.fingering) == pytest.approx(3.0, abs=0.05)


def test_between_the_notes_at_the_start_and_those_after_the_shift_is_interpolated(
    notebook: Notebook, day: Day
) -> None:
    for at, shift in ((timedelta(), -10.0), (HOUR, 2.0)):
        for note in (G4, B4):
            day.tune(note, moved(note, shift, 0.0), at)
    takes = [
        day.play(day.fingering, D_FLAT + cents, at)
        for cents, at in ((-4.0, HOUR / 2), (-1.0, 0.75 * HOUR), (2.0, 1.5 * HOUR))
    ]
    entry = open_fingering(notebook, day.fingering)
    by_take = open_days(notebook, entry.fingering, entry.takes).by_take
    for take in takes:
        relative = by_take[take].relative
        assert relative is not None
        assert relative.offset_cents == pytest.approx(0.0, abs=0.01)
    assert figure(notebook, day.fingering) == pytest.approx(0.0, abs=0.01)


def test_a_stated_pull_moves_the_figures_of_the_day(notebook: Notebook, day: Day) -> None:
    day.tune(G4, moved(G4, 10.0, 2.0), timedelta())
    day.play(day.fingering, D_FLAT + moved(D_FLAT, 10.0, 2.0), HOUR)
    apart = moved(D_FLAT, 10.0, 2.0) - moved(G4, 10.0, 2.0)
    assert figure(notebook, day.fingering) == pytest.approx(apart, abs=0.01)
    change_practice(
        notebook,
        day.number,
        tuning_a_hz=None,
        air_temperature_c=None,
        reed=" soft ",
        barrel_pull_mm=2.0,
    )
    assert figure(notebook, day.fingering) == pytest.approx(0.0, abs=0.01)
    practice = open_practice(notebook, day.number).practice
    assert (practice.reed, practice.barrel_pull_mm) == ("soft", 2.0)


def test_takes_before_the_first_tuning_note_are_cold_and_count(
    notebook: Notebook, day: Day
) -> None:
    early = day.play(day.fingering, D_FLAT - 20.0, timedelta(minutes=1))
    late = day.play(day.fingering, D_FLAT - 20.0, HOUR)
    note = day.tune(B4, -20.0, timedelta(minutes=5))
    cold = {each.take.id: each.is_cold for each in open_practice(notebook, day.number).takes}
    assert cold == {early: True, late: False, note: False}
    entry = open_fingering(notebook, day.fingering)
    by_take = open_days(notebook, entry.fingering, entry.takes).by_take
    assert [by_take[each].is_cold for each in (early, late)] == [True, False]
    assert entry.fingering.take_count == 2
    assert entry.fingering.offset_cents == pytest.approx(0.0, abs=0.01)


def test_a_note_that_is_left_out_says_nothing_until_it_counts_again(
    notebook: Notebook, day: Day
) -> None:
    day.play(day.fingering, D_FLAT + 5.0, HOUR)
    day.tune(B4, 5.0, timedelta())
    day.tune(B4, -35.0, 1.5 * HOUR)
    page = open_practice(notebook, day.number)
    assert page.reference is not None
    first, wrong = page.reference.notes
    assert figure(notebook, day.fingering) == pytest.approx(5.0 - (5.0 - 40.0 / 1.5), abs=0.1)

    leave_out_note(notebook, day.number, wrong.note_id, is_left_out=True)
    page = open_practice(notebook, day.number)
    assert page.reference is not None and page.reference.notes == (first,)
    assert page.left_out == (wrong,)
    assert figure(notebook, day.fingering) == pytest.approx(0.0, abs=0.01)

    leave_out_note(notebook, day.number, wrong.note_id, is_left_out=False)
    assert open_practice(notebook, day.number).left_out == ()
    with pytest.raises(NotInNotebook):
        leave_out_note(notebook, day.number, 999, is_left_out=True)


def test_a_recording_that_waited_counts_from_when_it_was_played(
    notebook: Notebook, day: Day
) -> None:
    def attach(sound: bytes, recorded_at: datetime) -> None:
        attach_tuning_note(
            notebook,
            day.number,
            BytesIO(sound),
            written="B4",
            original_name="",
            names=NoteNames.ENGLISH,
            recorded_at=recorded_at,
        )

    played_at = day.start + timedelta(minutes=3)
    attach(tone_wav(441.0, 0.8), played_at)
    reference = open_practice(notebook, day.number).reference
    assert reference is not None
    assert [note.played_at for note in reference.notes] == [played_at]
    with pytest.raises(FieldRefused, match="future"):
        attach(noise_wav(), now_utc() + timedelta(days=3))


def test_the_tuning_notes_follow_the_notation() -> None:
    assert [each.canonical for each in tuning_notes_of(KINDS["b-flat-soprano"])] == ["G4", "B4"]
    bass = tuning_notes_of(KINDS["b-flat-bass-bass-clef"])
    assert [each.canonical for each in bass] == ["G3", "B3"]


def test_a_warmer_room_is_learned_from_the_days_of_one_instrument(
    notebook: Notebook, clarinet: int, take_maker: TakeMaker
) -> None:
    other = add_clarinet(notebook, "Another")
    b4 = log(notebook, clarinet, "B4", "T R 123 | 123 | right E")
    start_practice(notebook, other, PracticeDraft(air_temperature_c=5.0))
    for air_c, tuning_a_hz in ((14.0, 440.0), (20.0, 442.0), (26.0, 440.0)):
        draft = PracticeDraft(tuning_a_hz, air_c)
        practice = start_practice(notebook, clarinet, draft)
        # 2 cents a degree, whatever A the day was held at
        take = take_maker(notebook, b4, sounding_hz(B4 + 2.0 * (air_c - 20.0)))
        choose_tuning_take(notebook, practice, take)
        end_practice(notebook, practice)
    found = learn_room_warming(list_practices(notebook, clarinet))
    # Sxx = 2 x 6^2 / s^2, with the scatter of a day, the note, and 0.3 mm of pull
    variance = 4.0**2 + 0.5**2 + (0.3 * find_pull_effect(440.0, Register.CLARION)) ** 2
    precision = 1.0 + 72.0 / variance
    assert found.day_count == 3
    assert found.cents_per_c == pytest.approx((1.5 + 144.0 / variance) / precision, rel=1e-3)
    assert found.sigma_cents_per_c == pytest.approx(precision**-0.5, rel=1e-3)
    assert learn_room_warming(list_practices(notebook, other)).day_count == 0
