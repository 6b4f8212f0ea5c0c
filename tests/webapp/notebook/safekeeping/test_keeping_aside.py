"""A backup can take the place of a damaged database, and what was damaged is kept as it was."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import snapshot
from webapp.cli import main
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.backup import write_backup
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.safekeeping.keeping_aside import KeptAside, keep_present, take_place
from webapp.notebook.store.errors import NotebookDamaged, NotebookUnreadable
from webapp.notebook.store.notebook import DATABASE_FILE, Notebook, hold_notebook

NAMES = {"Invented B-flat", "Invented bass"}


def overwrite(start: int, length: int) -> Callable[[Path], None]:
    """Make a way to damage a file: some bytes of it become nonsense."""

    def damage(path: Path) -> None:
        content = bytearray(path.read_bytes())
        content[start : start + length] = b"\xa5" * length
        path.write_bytes(content)

    return damage


def cut_off(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 3])


def forget_the_format(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TABLE alembic_version")
        connection.commit()


def replace_by_a_letter(path: Path) -> None:
    path.write_bytes(b"Dear reader, this is no database. " * 400)


def without_header(database: bytes) -> bytes:
    """Leave out the 100 bytes in which SQLite counts changes (SQLite, "Database File Format")."""
    return database[100:]


DAMAGES = {
    "its beginning": overwrite(0, 100),
    "the list of its tables": overwrite(100, 3000),
    "pages in the middle": overwrite(4096, 40_000),
    "all but its beginning": overwrite(4096, 200_000),
    "cut off": cut_off,
    "without its format": forget_the_format,
    "another file": replace_by_a_letter,
}


@pytest.fixture
def own(
    filled: tuple[Notebook, Filled], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> tuple[Path, Path]:
    """The folder of the player's notebook, closed, and a good backup of it."""
    backup = tmp_path / "mine.zip"
    write_backup(filled[0], backup)
    filled[0].close()
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(filled[0].folder))
    return filled[0].folder, backup


def restore(backup: Path) -> Result:
    return CliRunner().invoke(main, ["restore", str(backup)])


@pytest.mark.parametrize("how", sorted(DAMAGES))
def test_a_backup_comes_back_over_any_damage_and_the_damaged_file_is_kept(
    own: tuple[Path, Path], how: str
) -> None:
    folder, backup = own
    before = snapshot(hold_notebook(folder))
    DAMAGES[how](folder / DATABASE_FILE)
    damaged = (folder / DATABASE_FILE).read_bytes()
    result = restore(backup)
    assert result.exit_code == 0, result.output
    with closing(open_notebook(folder)) as notebook:
        assert {each.instrument.name for each in list_instruments(notebook)} == NAMES
        assert check_clips(notebook).is_sound
        with closing(sqlite3.connect(folder / DATABASE_FILE)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    (aside,) = (folder / "before-restore").iterdir()
    assert str(aside) in result.output
    assert without_header((aside / DATABASE_FILE).read_bytes()) == without_header(damaged)
    after = snapshot(hold_notebook(folder))
    for name in before.keys() - {DATABASE_FILE}:
        assert after[name] == before[name]


@pytest.mark.parametrize("how", ["its beginning", "another file"])
def test_a_damaged_notebook_says_how_a_backup_takes_its_place(
    own: tuple[Path, Path], how: str
) -> None:
    folder, backup = own
    DAMAGES[how](folder / DATABASE_FILE)
    damaged = (folder / DATABASE_FILE).read_bytes()
    with pytest.raises(NotebookDamaged, match="quartervent restore FILE"):
        open_notebook(folder)
    assert "The damaged database is kept as it was in" in restore(backup).output
    (kept,) = (folder / "before-restore").glob(f"*/{DATABASE_FILE}")
    assert kept.read_bytes() == damaged


def test_what_lies_beside_a_damaged_file_is_not_applied_to_the_new_one(
    own: tuple[Path, Path], tmp_path: Path
) -> None:
    notebook, aside, new = hold_notebook(own[0]), tmp_path / "aside", tmp_path / "new"
    aside.mkdir()
    new.write_bytes(b"the new one")
    journal = own[0] / f"{DATABASE_FILE}-journal"
    journal.write_bytes(b"an unfinished change")
    take_place(notebook, new, KeptAside(aside, is_damaged=True))
    assert not journal.exists()
    assert (aside / journal.name).read_bytes() == b"an unfinished change"
    assert (own[0] / DATABASE_FILE).read_bytes() == b"the new one"


def test_a_bad_backup_over_a_damaged_notebook_changes_nothing(
    own: tuple[Path, Path], tmp_path: Path
) -> None:
    folder, _ = own
    replace_by_a_letter(folder / DATABASE_FILE)
    before = snapshot(hold_notebook(folder))
    letter = tmp_path / "letter.zip"
    letter.write_bytes(b"Dear reader")
    result = restore(letter)
    assert result.exit_code == 1
    assert "cannot be read as a backup" in result.output
    assert snapshot(hold_notebook(folder)) == before


def test_a_notebook_that_is_only_locked_is_not_taken_for_damaged(
    own: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook = hold_notebook(own[0])

    def stay_locked(_: Notebook) -> bool:
        error = sqlite3.OperationalError("database is locked")
        error.sqlite_errorcode = sqlite3.SQLITE_BUSY
        raise error

    monkeypatch.setattr("webapp.notebook.safekeeping.keeping_aside._is_blank", stay_locked)
    with pytest.raises(NotebookUnreadable, match="Close it in every window") as caught:
        keep_present(notebook)
    assert not isinstance(caught.value, NotebookDamaged)
    assert not (own[0] / "before-restore").exists()
