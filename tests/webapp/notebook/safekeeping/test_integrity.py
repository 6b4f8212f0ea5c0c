"""Damage is found before it is copied, and what can be read is saved.

Damage is made by writing over pages of a real notebook's file ("Database File Format", SQLite
manual: pages of one size, the schema on the first).
"""

import sqlite3
from contextlib import closing
from io import BytesIO
from pathlib import Path

import pytest

from analysis.pitch import UnknownInstrumentKind
from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, tables_of
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.backup import make_backup, write_backup
from webapp.notebook.safekeeping.checking import check_database
from webapp.notebook.safekeeping.integrity import find_damage
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import BackupRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.targets.overview import open_overview


def root_page_of(file: Path, name: str) -> int:
    """The first page of a table or an index."""
    with closing(sqlite3.connect(file)) as connection:
        query = "SELECT rootpage FROM sqlite_master WHERE name = ?"
        (page,) = connection.execute(query, (name,)).fetchone()
    return int(page)


def spoil(file: Path, name: str) -> None:
    """Write over the cells of the first page of a table or an index."""
    page = root_page_of(file, name)
    with closing(sqlite3.connect(file)) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    with file.open("r+b") as opened:
        opened.seek((page - 1) * size + size // 2)
        opened.write(b"\xa5" * (size // 2))


@pytest.fixture
def closed(filled: tuple[Notebook, Filled]) -> Notebook:
    """The filled notebook, its database closed."""
    notebook, _ = filled
    notebook.close()
    return notebook


def test_a_sound_notebook_has_no_damage(closed: Notebook) -> None:
    assert find_damage(file_of(closed)) == ()
    assert find_damage(file_of(closed), is_quick=True) == ()
    assert check_database(closed).is_sound


@pytest.mark.parametrize("name", ["fingering", "ix_fingering_sounding", "take", "measurement"])
def test_one_damaged_page_is_found_and_no_backup_is_made_of_it(
    closed: Notebook, name: str, tmp_path: Path
) -> None:
    spoil(file_of(closed), name)
    assert not check_database(closed).is_sound
    with pytest.raises(BackupRefused, match="none was written"):
        make_backup(closed, BytesIO())
    target = tmp_path / "backup.zip"
    with pytest.raises(BackupRefused, match="--what-can-be-read"):
        write_backup(closed, target)
    assert list(tmp_path.glob("*.zip")) == []


def test_a_row_that_points_nowhere_is_damage(closed: Notebook) -> None:
    with closing(sqlite3.connect(file_of(closed))) as connection:
        connection.execute("UPDATE fingering SET instrument_id = 99 WHERE id = 1")
        connection.commit()
    (fault,) = check_database(closed).damage
    assert fault == "row 1 of fingering points to a instrument that is not there"
    with pytest.raises(BackupRefused):
        make_backup(closed, BytesIO())


@pytest.mark.parametrize("name", ["ix_fingering_sounding", "measurement", "choice"])
def test_what_can_be_read_is_saved_and_can_be_restored(
    closed: Notebook, name: str, tmp_path: Path
) -> None:
    whole = {table: len(rows) for table, rows in tables_of(file_of(closed)).items()}
    spoil(file_of(closed), name)
    target = tmp_path / "saved.zip"
    done = write_backup(closed, target, is_salvage=True)
    assert done.salvage is not None
    assert done.salvage.rows["fingering"] == whole["fingering"]
    if name.startswith("ix_"):
        assert done.salvage.torn == ()
        log_of_changes = done.salvage.rows["row_change"]
        assert done.salvage.rows == {**whole, "alembic_version": 1, "row_change": log_of_changes}
        assert log_of_changes > 0
    with closing(open_notebook(tmp_path / "new")) as new:
        restored = restore_backup(new, target)
        assert restored.clip_count == done.clip_count
        assert find_damage(file_of(new)) == ()


def test_contents_that_cannot_be_read_are_named(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    execute(file_of(notebook), f"UPDATE instrument SET kind_id = 'spoon' WHERE id = {rows.bass}")
    execute(file_of(notebook), f"UPDATE fingering SET keys_text = '?' WHERE id = {rows.silent}")
    report = check_database(notebook)
    assert report.damage == ()
    kind, keys = report.unreadable
    assert kind == f"instrument {rows.bass}: no kind of clarinet is called “spoon”"
    assert keys.startswith(f"fingering {rows.silent}: its keys cannot be read")
    with pytest.raises(UnknownInstrumentKind, match=r"“Invented bass” is of a kind .*“spoon”"):
        open_overview(notebook)
