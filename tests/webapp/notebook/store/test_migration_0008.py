"""Migration 0008 (clips once): twins go to the bin, no row is lost, and there are no more of them.

A twin is written past the program: a second row with the same hash, as two requests at once left.
"""

from contextlib import closing
from datetime import datetime
from typing import Any

import pytest
from sqlalchemy import Connection, MetaData, Table, delete, func, insert, inspect, select, update
from sqlalchemy.exc import IntegrityError

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import go_back
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.bin import list_bin, restore
from webapp.notebook.store.errors import DuplicateClip, DuplicateRecording
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Take

BEFORE = "0007"


def double(connection: Connection, table: str, number: int, **changes: Any) -> int:
    """Write a row once more with a clip of its own; return the number of the new one."""
    there = Table(table, MetaData(), autoload_with=connection)
    row = dict(connection.execute(select(there).where(there.c.id == number)).mappings().one())
    row |= {"id": None, "clip_name": f"{table} {number} twin.wav", **changes}
    del row["id"]
    connection.execute(insert(there).values(row))
    newest = connection.scalar(select(func.max(there.c.id)))
    assert isinstance(newest, int)
    return newest


def double_take(connection: Connection, number: int, **changes: Any) -> int:
    """Double a take with what was measured in it."""
    twin = double(connection, "take", number, **changes)
    there = Table("measurement", MetaData(), autoload_with=connection)
    (row,) = connection.execute(select(there).where(there.c.take_id == number)).mappings()
    connection.execute(insert(there).values({**row, "id": twin + 1000, "take_id": twin}))
    return twin


def counts(notebook: Notebook) -> dict[str, int]:
    """How many rows each table has, but for what is kept of upkeep, claims and changes."""
    with notebook.database.engine.connect() as connection:
        tables = set(inspect(connection).get_table_names()) - {"upkeep", "claim", "row_change"}
        return {
            name: connection.scalar(select(func.count()).select_from(Table(name, MetaData()))) or 0
            for name in tables
        }


def test_twins_go_to_the_bin_and_count_no_more(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    go_back(notebook, BEFORE)
    # past the log of changes, which was not there yet
    with notebook.database.engine.begin() as connection:
        twin = double_take(connection, rows.take)
        confirmed = double_take(connection, rows.strange_take, is_confirmed=True)
        unsorted_twin = double_take(connection, rows.unsorted_take)
        recording_twin = double(connection, "long_recording", rows.recording)
        fingering = Table("fingering", MetaData(), autoload_with=connection)
        connection.execute(
            update(fingering).where(fingering.c.id == rows.base).values(take_count=2)
        )
        note = Table("tuning_note", MetaData(), autoload_with=connection)
        by_take = {"take_id": twin, "clip_name": None}
        connection.execute(update(note).values(by_take))
    before = counts(notebook)
    notebook.close()

    with closing(open_notebook(notebook.folder)) as again:
        assert {name: count for name, count in counts(again).items() if name in before} == before
        contents = list_bin(again)
        binned = {each.id for each in contents.takes}
        assert {twin, rows.strange_take, unsorted_twin} <= binned
        assert not {rows.take, confirmed, rows.unsorted_take} & binned
        assert [each.id for each in contents.recordings] == [recording_twin]
        assert open_fingering(again, rows.base).fingering.take_count == 1
        with again.database.engine.connect() as connection:
            note = Table("tuning_note", MetaData(), autoload_with=connection)
            assert connection.scalars(select(note.c.take_id)).all() == [rows.take]
        with pytest.raises(DuplicateClip, match="attached to this fingering already"):
            restore(again, "take", twin)
        with pytest.raises(DuplicateRecording, match="in the notebook already"):
            restore(again, "recording", recording_twin)


@pytest.mark.parametrize("table", ["take", "long_recording"])
def test_there_can_be_no_more_of_them(filled: tuple[Notebook, Filled], table: str) -> None:
    notebook, rows = filled
    numbers = {"take": (rows.take, rows.unsorted_take), "long_recording": (rows.recording,)}
    for number in numbers[table]:
        with pytest.raises(IntegrityError), notebook.database.writing() as session:
            double(session.connection(), table, number)
        with notebook.database.writing() as session:  # the bin does not count
            double(session.connection(), table, number, deleted_at=datetime(2026, 1, 1))


def test_another_fingering_may_have_the_same_clip(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    with notebook.database.writing() as session:
        double(session.connection(), "take", rows.take, fingering_id=rows.half_hole)


def test_down_to_the_first_form_and_up_again_no_row_is_lost(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, _ = filled
    with notebook.database.writing() as session:  # earlier forms have no such take
        session.execute(delete(Take).where(Take.fingering_id.is_(None)))
    before = counts(notebook)
    go_back(notebook, "0001")
    old = counts(notebook)
    assert old == {name: before[name] for name in old}
    migrate(notebook.database.engine)
    assert {name: number for name, number in counts(notebook).items() if name in old} == old
