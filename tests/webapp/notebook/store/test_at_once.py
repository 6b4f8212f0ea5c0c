"""Writers that come at once, on both engines: nothing is lost, doubled or half done.

Three takes at once and one clip twice at once are repeated: a race is not lost every time.
"""

from collections.abc import Callable
from functools import partial
from io import BytesIO

import pytest
from sqlalchemy import func, select

from analysis.pitch import NoteNames
from analysis.recording import TakeMeasurement, Verdict
from tests.webapp.at_once import at_once
from tests.webapp.logging_rows import ENGLISH, add_clarinet, draft, log
from webapp.notebook.fingerings.fingerings import change_fingering, open_fingering
from webapp.notebook.practice import tuning_notes
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.tuning_notes import attach_tuning_note
from webapp.notebook.preferences.preferences import Writing, change_preferences, read_version
from webapp.notebook.recordings.recordings import add_recording, list_recordings
from webapp.notebook.store.clips import StagedClip
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, TuningNote
from webapp.notebook.takes import takes
from webapp.notebook.takes.takes import TakeNote, attach_take

ROUNDS = 8


@pytest.fixture(autouse=True)
def stated(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last byte of a recording says by how many cents it lies above the target."""

    def measure(
        staged: StagedClip, target_hz: float | None, longest_s: float | None = None
    ) -> tuple[str, TakeMeasurement]:
        del longest_s
        assert target_hz is not None
        cents = staged.path.read_bytes()[-1]
        return "wav", TakeMeasurement(
            verdict=Verdict.OK,
            duration_s=1.0,
            f0_hz=target_hz * 2 ** (cents / 1200),
            f0_uncertainty_cents=0.5,
            spread_cents=1.0,
            drift_cents_per_s=0.0,
            steady_from_s=0.1,
            steady_to_s=0.9,
        )

    for module in (takes, tuning_notes):
        monkeypatch.setattr(module, "measure_staged", measure)


def attaching(notebook: Notebook, fingering: int, sound: bytes) -> Callable[[], object]:
    return lambda: attach_take(notebook, fingering, BytesIO(sound), TakeNote())


def test_takes_attached_at_once_all_count(notebook: Notebook, clarinet: int) -> None:
    for number in range(ROUNDS):
        fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
        sounds = [bytes([number, cents]) for cents in (2, 3, 4)]
        assert at_once(*(attaching(notebook, fingering, each) for each in sounds)) == []
        page = open_fingering(notebook, fingering)
        assert len(page.takes) == page.fingering.take_count == 3
        # equally certain takes of 2, 3 and 4 cents: their mean
        assert page.fingering.offset_cents == pytest.approx(3.0, abs=1e-6)


def test_the_same_recording_sent_twice_at_once_is_kept_once(
    notebook: Notebook, clarinet: int
) -> None:
    for number in range(1, ROUNDS + 1):
        fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
        raised = at_once(*[attaching(notebook, fingering, bytes([number, 1]))] * 3)
        assert [type(each).__name__ for each in raised] == ["DuplicateClip"] * 2
        page = open_fingering(notebook, fingering)
        assert len(page.takes) == page.fingering.take_count == 1
        assert len(notebook.clips.names()) == number


def test_a_long_recording_sent_twice_at_once_is_kept_once(
    notebook: Notebook, clarinet: int
) -> None:
    sound = b"RIFF\x24\x00\x00\x00WAVEfmt "  # is looked at by its first bytes only
    raised = at_once(*[lambda: add_recording(notebook, clarinet, BytesIO(sound), TakeNote())] * 3)
    assert [type(each).__name__ for each in raised] == ["DuplicateRecording"] * 2
    assert len(list_recordings(notebook, clarinet)) == len(notebook.clips.names()) == 1


def test_a_tuning_note_sent_twice_at_once_is_kept_once(notebook: Notebook, clarinet: int) -> None:
    practice = start_practice(notebook, clarinet, PracticeDraft())

    def attach() -> None:
        attach_tuning_note(
            notebook, practice, BytesIO(b"\x05"), written="B4", original_name="", is_once=True,
            names=NoteNames.ENGLISH,
        )  # fmt: skip

    assert at_once(*[attach] * 3) == []
    with notebook.database.reading() as session:
        assert session.scalar(select(func.count(TuningNote.id))) == 1
    assert len(notebook.clips.names()) == 1


def test_fingerings_logged_at_once_are_all_kept(notebook: Notebook, clarinet: int) -> None:
    def log_five() -> None:
        for _ in range(5):
            log(notebook, clarinet, "D5 -50", "T R 123 | 12-")

    assert at_once(*[log_five] * 4) == []
    with notebook.database.reading() as session:
        assert session.scalar(select(func.count(Fingering.id))) == 20


def test_of_two_edits_at_once_one_wins_and_the_other_is_told(
    notebook: Notebook, clarinet: int
) -> None:
    fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")

    def change(notes: str) -> None:
        change_fingering(
            notebook, fingering, draft("D5 -50", "T R 123 | 12-", notes=notes),
            seen_version=1, names=ENGLISH,
        )  # fmt: skip

    raised = at_once(lambda: change("one"), lambda: change("two"))
    assert [type(each).__name__ for each in raised] == ["StaleEdit"]
    assert open_fingering(notebook, fingering).fingering.notes in ("one", "two")


def test_of_preferences_kept_at_once_one_wins_and_the_others_are_told(notebook: Notebook) -> None:
    for seen in range(2):  # the first change makes the row, the second finds it
        change = partial(change_preferences, notebook, Writing(theme="dark"), seen_version=seen)
        raised = at_once(change, change, change)
        assert [type(each).__name__ for each in raised] == ["StaleEdit"] * 2
        assert read_version(notebook) == seen + 1


def test_of_practices_begun_at_once_one_is_open(notebook: Notebook, clarinet: int) -> None:
    raised = at_once(*[lambda: start_practice(notebook, clarinet, PracticeDraft())] * 3)
    assert [type(each).__name__ for each in raised] == ["Refused"] * 2


def test_what_is_read_together_is_of_one_moment(notebook: Notebook) -> None:
    count = select(func.count(Instrument.id))
    with notebook.database.reading() as session:
        before = session.scalar(count)
        if notebook.database.engine.dialect.name == "postgresql":
            add_clarinet(notebook)  # on SQLite it would wait until this is read
        assert session.scalar(count) == before == 0
