"""Migration 0002 (practice): a notebook of the first form keeps every row, and gains empty room."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine
from sqlalchemy.pool import NullPool

from tests.webapp.older_forms import Rows, tables_of
from webapp.notebook.store.db import make_engine
from webapp.notebook.store.migrating import alembic_config, migrate

MOMENT = "2026-03-01 10:00:00.000000"
PRACTICE = (
    "INSERT INTO practice (id, instrument_id, started_at, tuning_a_hz, notes) "
    f"VALUES (1, 1, '{MOMENT}', 442.0, '')"
)
ROWS = f"""
INSERT INTO instrument VALUES (1, 'Old', 'b-flat-soprano', 'soprano-17-6', 1, -200, 441.5, '', '',
  '', 'n', '{MOMENT}', '{MOMENT}', NULL, 3);
INSERT INTO fingering VALUES (5, 1, 'T R 123 | 12-', 'D5-50c', 'D5 -50', 'found', NULL, NULL, NULL,
  4, '', 'kept', 0, 0, 7350.0, 7150.0, 1, 3.25, 3.0, 7153.25, '{MOMENT}', '{MOMENT}', NULL, 2);
INSERT INTO take VALUES (9, 5, 'a.wav', 'wav', '{"0" * 64}', 64, 'held.wav', '{MOMENT}', 'mf',
  21.5, 441.5, '{MOMENT}', NULL);
INSERT INTO measurement VALUES (2, 9, '1', 'ok', 508.5, 0.25, 1.5, 0.0, 900.0, 1.75, 1.5, '[]',
  '{MOMENT}');
"""


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    """A database of the first form with a row in every table that matters."""
    path = tmp_path / "notebook.sqlite3"
    engine = make_engine(f"sqlite:///{path}", poolclass=NullPool)
    with engine.connect() as connection:
        command.upgrade(alembic_config(connection), "0001")
        connection.commit()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(ROWS)
    yield engine
    engine.dispose()


def tables(engine: Engine) -> dict[str, Rows]:
    assert engine.url.database is not None
    return tables_of(Path(engine.url.database))


def test_every_row_is_kept_and_takes_belong_to_no_practice(engine: Engine) -> None:
    before = tables(engine)
    migrate(engine)
    after = tables(engine)
    for table in ("measurement", "take"):
        (old,), (new,) = before[table], after[table]
        assert old.items() <= new.items()
    assert after["take"][0]["practice_id"] is None
    (instrument,) = after["instrument"]
    assert before["instrument"][0].items() <= instrument.items()
    for table in ("practice", "tuning_note", "long_recording", "segment"):
        assert after[table] == []


def test_down_again_it_is_as_it_was(engine: Engine) -> None:
    before = tables(engine)
    with engine.connect() as connection:
        # As `migrate` does: rebuilding `take` with foreign keys on would delete its measurements.
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        command.upgrade(alembic_config(connection), "0002")
        command.downgrade(alembic_config(connection), "0001")
        connection.commit()
    assert tables(engine) == before


@pytest.mark.parametrize(
    ("source", "is_kept"),
    [("9, NULL", True), ("NULL, 'b.wav'", True), ("9, 'b.wav'", False), ("NULL, NULL", False)],
)
def test_a_tuning_note_is_a_take_or_a_recording(engine: Engine, source: str, is_kept: bool) -> None:
    migrate(engine)
    assert engine.url.database is not None
    with closing(sqlite3.connect(engine.url.database)) as connection:
        connection.execute(PRACTICE)
        insert = (
            "INSERT INTO tuning_note (id, practice_id, written_text, take_id, clip_name, "
            f"original_name, created_at) VALUES (1, 1, 'B4', {source}, '', '{MOMENT}')"
        )
        if is_kept:
            connection.execute(insert)
        else:
            with pytest.raises(sqlite3.IntegrityError, match="one_source"):
                connection.execute(insert)


def test_a_practice_that_goes_leaves_its_takes(engine: Engine) -> None:
    migrate(engine)
    with engine.begin() as connection:
        connection.exec_driver_sql(PRACTICE)
        connection.exec_driver_sql("UPDATE take SET practice_id = 1")
        connection.exec_driver_sql("DELETE FROM practice")
    assert [take["practice_id"] for take in tables(engine)["take"]] == [None]
