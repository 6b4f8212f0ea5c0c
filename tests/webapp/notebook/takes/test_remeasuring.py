"""Measuring again: earlier numbers stay, later ones count, and it can be taken up again."""

from io import BytesIO

import pytest
from sqlalchemy import select, update

from analysis.pitch import NoteNames
from analysis.recording import METHOD_VERSION, measure_clip
from tests.webapp.logging_rows import add_clarinet, attach
from tests.webapp.playing import sounding_hz
from tests.webapp.tones import tone_wav
from webapp.notebook.practice.practice import (
    PracticeDraft,
    open_practice,
    start_practice,
)
from webapp.notebook.practice.tuning_notes import attach_tuning_note
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Measurement, TuningNote
from webapp.notebook.takes import remeasuring
from webapp.notebook.takes.remeasuring import (
    find_outdated,
    find_outdated_notes,
    remeasure_note,
    remeasure_take,
)

OLD = "0 made up"


def make_old(notebook: Notebook, take: int, f0_hz: float) -> None:
    """Let a take look as if an earlier version had measured it, a little wrong."""
    with notebook.database.writing() as session:
        session.execute(
            update(Measurement)
            .where(Measurement.take_id == take)
            .values(method_version=OLD, f0_hz=f0_hz)
        )


def measurements(notebook: Notebook, take: int) -> list[tuple[str, float | None]]:
    query = select(Measurement).where(Measurement.take_id == take).order_by(Measurement.id)
    with notebook.database.reading() as session:
        return [(each.method_version, each.f0_hz) for each in session.scalars(query)]


@pytest.fixture
def takes(notebook: Notebook, fingering: int) -> list[int]:
    return [
        attach(notebook, fingering, tone_wav(sounding_hz(7350 + 6), seed=seed)) for seed in (1, 2)
    ]


def test_only_takes_of_another_version_are_outdated(notebook: Notebook, takes: list[int]) -> None:
    assert find_outdated(notebook) == ()
    make_old(notebook, takes[1], 500.0)
    assert find_outdated(notebook) == (takes[1],)


def test_a_take_is_measured_anew_and_its_earlier_number_kept(
    notebook: Notebook, fingering: int, takes: list[int]
) -> None:
    wrong_hz = sounding_hz(7350 + 16)
    make_old(notebook, takes[0], wrong_hz)
    moved = remeasure_take(notebook, takes[0])

    assert (moved.before_version, moved.problem) == (OLD, "")
    assert moved.before_cents == pytest.approx(16.0)
    assert moved.after_cents == pytest.approx(6.0, abs=0.05)
    assert moved.moved_cents == pytest.approx(-10.0, abs=0.05)
    kept = measurements(notebook, takes[0])
    assert [version for version, _ in kept] == [OLD, METHOD_VERSION]
    assert kept[0][1] == wrong_hz
    assert find_outdated(notebook) == ()
    with notebook.database.reading() as session:
        row = session.get_one(Fingering, fingering)
    assert row.offset_cents == pytest.approx(6.0, abs=0.05), "pooled anew"


def test_a_version_measured_before_comes_back_once(notebook: Notebook, takes: list[int]) -> None:
    take = takes[0]
    make_old(notebook, take, 500.0)
    remeasure_take(notebook, take)
    with notebook.database.writing() as session:  # another version came and went
        row = session.scalars(select(Measurement).where(Measurement.take_id == take)).first()
        assert row is not None
        session.add(
            Measurement(
                take_id=take,
                method_version="9 made up",
                verdict=row.verdict,
                duration_s=row.duration_s,
                details=row.details,
            )
        )
    assert find_outdated(notebook) == (take,)
    remeasure_take(notebook, take)
    versions = [version for version, _ in measurements(notebook, take)]
    assert versions == [OLD, "9 made up", METHOD_VERSION]
    assert find_outdated(notebook) == ()


def test_a_take_whose_clip_is_gone_keeps_its_number_and_says_so(
    notebook: Notebook, takes: list[int]
) -> None:
    make_old(notebook, takes[0], 500.0)
    for clip in notebook.clips.folder.glob("*.wav"):
        clip.unlink()
    moved = remeasure_take(notebook, takes[0])
    assert "missing from the clip store" in moved.problem
    assert moved.moved_cents is None
    assert measurements(notebook, takes[0]) == [(OLD, 500.0)]


def test_stopped_in_between_it_goes_on_with_the_rest(
    notebook: Notebook, takes: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    for take in takes:
        make_old(notebook, take, 500.0)
    remeasure_take(notebook, takes[0])

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(remeasuring, "measure_clip", interrupt)
    with pytest.raises(KeyboardInterrupt):
        remeasure_take(notebook, takes[1])
    monkeypatch.setattr(remeasuring, "measure_clip", measure_clip)
    assert find_outdated(notebook) == (takes[1],)
    assert measurements(notebook, takes[1]) == [(OLD, 500.0)]


def test_a_recorded_tuning_note_is_measured_anew_too(notebook: Notebook) -> None:
    practice = start_practice(notebook, add_clarinet(notebook), PracticeDraft())
    sound = BytesIO(tone_wav(442.0, 0.8))
    attach_tuning_note(
        notebook, practice, sound, written="B4", original_name="", names=NoteNames.ENGLISH
    )
    assert find_outdated_notes(notebook) == ()
    with notebook.database.writing() as session:
        session.execute(update(TuningNote).values(method_version=OLD, f0_hz=441.0))
    (note,) = find_outdated_notes(notebook)
    assert remeasure_note(notebook, note) == ""
    assert find_outdated_notes(notebook) == ()
    reference = open_practice(notebook, practice).reference
    assert reference is not None
    # 442 Hz lies 1200 log2(442/440) = 7.85 cents above 440 Hz
    assert reference.notes[-1].offset.offset_cents == pytest.approx(7.85, abs=0.05)
    with notebook.database.reading() as session:
        assert next(each.f0_hz for each in session.scalars(select(TuningNote))) == 441.0


def test_a_take_that_is_not_there_is_named(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        remeasure_take(notebook, 99)
