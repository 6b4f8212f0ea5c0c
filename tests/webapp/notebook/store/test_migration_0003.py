"""Migration 0003: own layouts, keys of an instrument, the state of the holes.

Truth: a fingering that was there before reads and measures the same after; its hole state is the
one that `analysis.keywork` finds for its keys. The migration leaves it empty, since it asks no rule
that may change; the upkeep that follows it fills it.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

from analysis.keywork import hole_signature
from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, go_back
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.db import make_engine
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

BEFORE = "0002"


def rows_of(folder: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(folder / "notebook.sqlite3")) as connection:
        return connection.execute(query).fetchall()


def signatures_of(notebook: Notebook) -> dict[object, object]:
    """The state of the holes by the number of the fingering."""
    query = "SELECT id, hole_signature FROM fingering"
    return {row[0]: row[1] for row in rows_of(notebook.folder, query)}


FACTS = (
    "SELECT id, keys_text, base_keys_text, target_text, take_count, offset_cents, version, "
    "deleted_at FROM fingering ORDER BY id"
)
INSTRUMENTS = "SELECT id, name, layout_id, layout_version, version FROM instrument ORDER BY id"


def test_rows_stay_and_the_holes_are_filled(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    before = rows_of(notebook.folder, FACTS), rows_of(notebook.folder, INSTRUMENTS)
    go_back(notebook, BEFORE)
    columns = {row[1] for row in rows_of(notebook.folder, "PRAGMA table_info(fingering)")}
    assert not columns & {"hole_signature", "shares_evidence"}
    assert rows_of(notebook.folder, FACTS) == before[0]

    engine = make_engine(str(notebook.database.engine.url))
    migrate(engine)
    engine.dispose()
    assert (rows_of(notebook.folder, FACTS), rows_of(notebook.folder, INSTRUMENTS)) == before
    assert set(signatures_of(notebook).values()) == {None}
    with closing(open_notebook(notebook.folder)) as again:
        assert (rows_of(notebook.folder, FACTS), rows_of(notebook.folder, INSTRUMENTS)) == before
        found = signatures_of(notebook)
        assert None not in found.values()
        for fingering_id in (rows.base, rows.half_hole, rows.on_bass):
            fingering = open_fingering(again, fingering_id).fingering
            assert found[fingering_id] == hole_signature(fingering.key_states())
            assert not fingering.shares_evidence


def test_keys_that_cannot_be_read_stop_nothing(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    go_back(notebook, BEFORE)
    spoil = f"UPDATE fingering SET keys_text = 'spoon' WHERE id = {rows.silent}"
    execute(file_of(notebook), spoil)
    open_notebook(notebook.folder).close()
    found = signatures_of(notebook)
    assert found[rows.silent] is None
    assert found[rows.base] is not None
