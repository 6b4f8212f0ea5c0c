"""The database connection, and writers that come at once.

Source of the settings: sqlite.org/pragma.html (synchronous: 2 is FULL; foreign_keys is off by
default and is set for each connection).
"""

import threading
from collections.abc import Callable

import pytest
from sqlalchemy import func, select, text
from sqlalchemy.exc import IntegrityError, StatementError

from tests.webapp.logging_rows import ENGLISH, add_clarinet, attach, draft, log
from tests.webapp.tones import silent_wav
from webapp.notebook.fingerings.fingerings import change_fingering, open_fingering
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("foreign_keys", 1), ("synchronous", 2), ("busy_timeout", 5000)],
)
def test_the_settings_stand_on_every_live_connection(
    notebook: Notebook, pragma: str, value: int
) -> None:
    database = notebook.database
    with database.reading() as first, database.reading() as second:
        values = [session.scalar(text(f"PRAGMA {pragma}")) for session in (first, second)]
    with database.writing() as session:
        values.append(session.scalar(text(f"PRAGMA {pragma}")))
    assert values == [value] * 3


def test_the_rollback_journal_is_used(notebook: Notebook) -> None:
    with notebook.database.reading() as session:
        assert session.scalar(text("PRAGMA journal_mode")) == "delete"


def test_a_row_that_points_nowhere_is_refused(notebook: Notebook) -> None:
    take = Take(
        instrument_id=98, fingering_id=99, clip_name="x.wav", clip_format="wav", sha256="0" * 64,
        byte_count=1, recorded_at=now_utc(), tuning_a_hz=440.0,
    )  # fmt: skip
    with pytest.raises(IntegrityError, match="FOREIGN KEY"), notebook.database.writing() as session:
        session.add(take)


def test_a_writing_block_that_fails_keeps_nothing(notebook: Notebook) -> None:
    add_clarinet(notebook)
    with pytest.raises(RuntimeError), notebook.database.writing() as session:
        session.get_one(Instrument, 1).name = "changed"
        session.flush()
        raise RuntimeError
    with notebook.database.reading() as session:
        assert session.get_one(Instrument, 1).name == "B-flat"


def test_a_reading_block_keeps_nothing(notebook: Notebook) -> None:
    add_clarinet(notebook)
    with notebook.database.reading() as session:
        session.get_one(Instrument, 1).name = "changed"
        session.flush()
    with notebook.database.reading() as session:
        assert session.get_one(Instrument, 1).name == "B-flat"


def test_moments_come_back_with_their_zone_and_need_one(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    with notebook.database.reading() as session:
        created = session.get_one(Instrument, instrument).created_at
    assert created.tzinfo is not None
    assert abs((now_utc() - created).total_seconds()) < 60
    with (
        pytest.raises(StatementError, match="without a time zone"),
        notebook.database.writing() as session,
    ):
        session.get_one(Instrument, instrument).created_at = created.replace(tzinfo=None)


def at_once(*actions: Callable[[], object]) -> list[BaseException]:
    """Run actions in threads that start together; return what they raised."""
    start, raised = threading.Barrier(len(actions)), []

    def run(action: Callable[[], object]) -> None:
        start.wait()
        try:
            action()
        except BaseException as error:  # handed to the test
            raised.append(error)

    threads = [threading.Thread(target=run, args=(action,)) for action in actions]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return raised


def test_fingerings_logged_at_once_are_all_kept(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)

    def log_five() -> None:
        for _ in range(5):
            log(notebook, instrument, "D5 -50", "T R 123 | 12-")

    assert at_once(*[log_five] * 4) == []
    with notebook.database.reading() as session:
        assert session.scalar(select(func.count(Fingering.id))) == 20


def test_takes_attached_at_once_all_count(notebook: Notebook) -> None:
    fingering = log(notebook, add_clarinet(notebook), "D5 -50", "T R 123 | 12-")
    sounds = [silent_wav(0.3 + number / 10) for number in range(3)]
    assert at_once(*[lambda each=each: attach(notebook, fingering, each) for each in sounds]) == []
    assert len(open_fingering(notebook, fingering).takes) == 3


def test_the_same_recording_sent_twice_at_once_is_kept_once(notebook: Notebook) -> None:
    fingering = log(notebook, add_clarinet(notebook), "D5 -50", "T R 123 | 12-")
    sound = silent_wav(0.4)
    raised = at_once(*[lambda: attach(notebook, fingering, sound)] * 3)
    assert [type(each).__name__ for each in raised] == ["DuplicateClip"] * 2
    assert len(open_fingering(notebook, fingering).takes) == 1
    assert len(notebook.clips.names()) == 1


def test_of_two_edits_at_once_one_wins_and_the_other_is_told(notebook: Notebook) -> None:
    instrument = add_clarinet(notebook)
    fingering = log(notebook, instrument, "D5 -50", "T R 123 | 12-")

    def change(notes: str) -> None:
        change_fingering(
            notebook, fingering, draft("D5 -50", "T R 123 | 12-", notes=notes),
            seen_version=1, names=ENGLISH,
        )  # fmt: skip

    raised = at_once(lambda: change("one"), lambda: change("two"))
    assert [type(each).__name__ for each in raised] == ["StaleEdit"]
    assert open_fingering(notebook, fingering).fingering.notes in ("one", "two")
