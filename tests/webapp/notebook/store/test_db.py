"""The connection to SQLite; what holds on every engine stands in `test_at_once`.

Source of the settings: sqlite.org/pragma.html (synchronous: 2 is FULL; foreign_keys is off by
default and is set for each connection).
"""

from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, StatementError

from tests.webapp.logging_rows import add_clarinet
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument, Take


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


def test_a_notebook_that_is_thrown_away_waits_for_no_disk(tmp_path: Path) -> None:
    with closing(open_notebook(tmp_path, is_demo=True)) as demo, demo.database.reading() as session:
        values = [
            session.scalar(text(f"PRAGMA {each}")) for each in ("synchronous", "foreign_keys")
        ]
    assert values == [0, 1]
