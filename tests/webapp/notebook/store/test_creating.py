"""A fresh notebook's schema is made at once, and is that of the migrations (SQLite).

PostgreSQL's stands in `test_postgresql.py`.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.exc import OperationalError

from tests.webapp.schema_facts import read_schema
from webapp.notebook.opening import open_notebook
from webapp.notebook.store import migrating
from webapp.notebook.store.creating import create_schema
from webapp.notebook.store.db import file_address, make_engine
from webapp.notebook.store.errors import NotebookDamaged
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.rows import Base, RowChange
from webapp.notebook.store.schema import current_revision, newest_revision


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    """An empty database."""
    engine = make_engine(file_address(tmp_path / "created.sqlite3"))
    yield engine
    engine.dispose()


def rows_of(engine: Engine) -> dict[str, list[dict[str, object]]]:
    """Every row of every table that has some; stamps are of chance."""
    with engine.connect() as connection:
        found = {
            name: [dict(row) for row in connection.execute(select(table)).mappings()]
            for name, table in Base.metadata.tables.items()
        }
    for line in found[RowChange.__tablename__]:
        assert len(str(line.pop("stamp"))) == 16
    return {name: rows for name, rows in found.items() if rows}


def test_made_at_once_it_is_what_all_migrations_make(engine: Engine, tmp_path: Path) -> None:
    assert create_schema(engine)
    migrated = make_engine(file_address(tmp_path / "migrated.sqlite3"))
    migrate(migrated)
    with engine.connect() as one, migrated.connect() as other:
        facts = read_schema(one)
        assert facts == read_schema(other)
    assert len(facts) > len(Base.metadata.tables)
    assert all(facts["table", name] for name in Base.metadata.tables)
    assert rows_of(engine) == rows_of(migrated)
    assert current_revision(engine) == current_revision(migrated) == newest_revision()
    migrated.dispose()


def test_facts_tell_schemas_apart(engine: Engine) -> None:
    create_schema(engine)
    with engine.connect() as connection:
        before = read_schema(connection)
        for change in (
            "ALTER TABLE take ADD COLUMN invented INTEGER",
            "DROP INDEX ix_take_unsorted",
            "CREATE TRIGGER invented AFTER DELETE ON take BEGIN SELECT 1; END",
        ):
            connection.exec_driver_sql(change)
            after = read_schema(connection)
            assert after != before
            before = after


def test_a_fresh_notebook_runs_no_migration(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a fresh notebook was migrated")

    monkeypatch.setattr(migrating, "migrate", refuse)
    with closing(open_notebook(tmp_path / "new")) as notebook:
        assert current_revision(notebook.database.engine) == newest_revision()


def test_where_another_program_made_it_nothing_is_done(engine: Engine) -> None:
    assert create_schema(engine)
    before = rows_of(engine)
    assert not create_schema(engine)
    assert rows_of(engine) == before


def test_what_fails_half_way_leaves_nothing_behind(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.exec_driver_sql("CREATE TABLE take (invented INTEGER)")
    with pytest.raises(OperationalError, match="already exists"):
        create_schema(engine)
    with engine.connect() as connection:
        assert set(read_schema(connection)) == {("table", "take")}


def test_a_file_of_another_program_is_refused_and_stays_as_it_is(tmp_path: Path) -> None:
    file = tmp_path / "notebook.sqlite3"
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("CREATE TABLE instrument (invented TEXT)")
    before = file.read_bytes()
    with pytest.raises(NotebookDamaged):
        open_notebook(tmp_path)
    assert file.read_bytes() == before
