"""Migration 0009: vented plates, written as half-holes before, are a state of their own.

Truth: the older texts stand here as the earlier program wrote them; the newer ones are those that
the present one reads to the same keys with the plate vented, and writes again letter by letter.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from analysis.keywork import State, format_fingering, load_layout, parse_fingering, write_layout
from tests.webapp.logging_rows import Filled, log
from tests.webapp.older_forms import execute, file_of, go_back, tables_of
from webapp.notebook.instruments.layouts import add_layout
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering

OLD, NEW = "T R (1)23 | 1-- | right cross, G#/Eb", "T R [1]23 | 1-- | right cross, G#/Eb"
HALF_HOLE = "T R (1)23 | 123"
SUGGESTED = (
    "INSERT INTO suggestion (instrument_id, target_text, keys_text, base_reference, "
    "base_keys_text, strategy, predicted_offset_cents, predicted_sigma_cents, method_version, "
    "state, reason_notes, created_at, updated_at) VALUES ({of}, 'Eb6', '{keys}', 'ordinary:Eb6:1', "
    "'{keys}', 'found', 0, 9, 'finder-1', 'waiting', '', '2026-01-01', '2026-01-01')"
)


def ask(file: Path, query: str) -> list[tuple[object, ...]]:
    """Ask the database past the program."""
    with closing(sqlite3.connect(file)) as connection:
        return connection.execute(query).fetchall()


def test_kept_texts_of_a_bass_are_carried_over_and_those_of_a_soprano_stay(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    on_bass = log(notebook, rows.bass, "Eb6", "T R 123 | 12-", layout_id="bass-low-eb")
    shaded = log(notebook, rows.soprano, "Eb5 -20", HALF_HOLE)
    go_back(notebook, "0008")
    for fingering_id, keys in ((on_bass, OLD), (shaded, HALF_HOLE)):
        texts = f"keys_text = '{keys}', base_keys_text = '{keys}', has_half_hole = 1"
        execute(file, f"UPDATE fingering SET {texts} WHERE id = {fingering_id}")
    execute(file, SUGGESTED.format(of=rows.bass, keys=OLD))
    execute(file, SUGGESTED.format(of=rows.soprano, keys=HALF_HOLE))
    before = ask(file, "SELECT id, updated_at, version FROM fingering ORDER BY id")

    with closing(open_notebook(notebook.folder)) as again, again.database.reading() as session:
        for fingering_id, keys in ((on_bass, NEW), (shaded, HALF_HOLE)):
            row = session.get_one(Fingering, fingering_id)
            assert (row.keys_text, row.base_keys_text) == (keys, keys)
            # the upkeep derives anew what follows from the state
            assert row.has_half_hole == (fingering_id == shaded)
    assert ask(file, "SELECT id, updated_at, version FROM fingering ORDER BY id") == before
    texts = f"SELECT keys_text, base_keys_text FROM suggestion WHERE instrument_id = {rows.bass}"
    assert ask(file, texts) == [(NEW, NEW)]
    bass = load_layout("bass-low-eb")
    assert parse_fingering(OLD, bass).state("l1") is State.VENTED
    assert format_fingering(parse_fingering(OLD, bass)) == NEW


@pytest.mark.parametrize("base", ["bass-low-eb", "soprano-17-6"])
def test_an_own_layout_is_carried_over_with_its_fingerings(
    filled: tuple[Notebook, Filled], base: str
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    toml = write_layout(load_layout(base)).replace(f'id = "{base}"', 'id = "mine-vented"', 1)
    add_layout(notebook, toml)
    execute(file, f"UPDATE instrument SET own_layout_id = 'mine-vented' WHERE id = {rows.bass}")
    kept = ask(file, "SELECT toml FROM own_layout WHERE id = 'mine-vented'")
    go_back(notebook, "0008")
    ((older,),) = ask(file, "SELECT toml FROM own_layout WHERE id = 'mine-vented'")
    is_bass = base == "bass-low-eb"
    assert ('kind = "half-plate"' in str(older), "[1]" in str(older)) == (is_bass, False)
    execute(file, f"UPDATE fingering SET keys_text = '{OLD}' WHERE id = {rows.on_bass}")

    migrate(notebook.database.engine)

    assert ask(file, "SELECT toml FROM own_layout WHERE id = 'mine-vented'") == kept
    found = ask(file, f"SELECT keys_text FROM fingering WHERE id = {rows.on_bass}")
    assert found == [(NEW if is_bass else OLD,)]


def test_down_again_the_rows_are_as_they_were(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    log(notebook, rows.bass, "Eb6", NEW, layout_id="bass-low-eb")
    execute(file, "DELETE FROM upkeep WHERE name IN ('keys', 'spelling')")
    execute(file, "UPDATE fingering SET target_sign = NULL")  # earlier forms know no spelling
    full = tables_of(file)
    go_back(notebook, "0008")
    old = tables_of(file)
    assert [row["keys_text"] for row in old["fingering"]].count(OLD) == 1
    assert NEW not in [row["keys_text"] for row in old["fingering"]]
    migrate(notebook.database.engine)
    again = tables_of(file)
    assert {name: again[name] for name in old} == {name: full[name] for name in old}
