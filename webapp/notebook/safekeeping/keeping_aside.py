"""Keep a notebook's database aside before another takes its place, whole or damaged as it is."""

import os
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import exists, select
from sqlalchemy.exc import DatabaseError

from webapp.notebook.safekeeping.backup import copy_database
from webapp.notebook.safekeeping.backup_format import DATABASE
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.db import tells_of_damage
from webapp.notebook.store.errors import NotebookUnreadable
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Base, RowChange, Upkeep

ASIDE_FOLDER = "before-restore"
# What SQLite leaves beside a file that was not closed; it belongs to that very file.
_COMPANIONS = ("-journal", "-wal", "-shm")


@dataclass(frozen=True, slots=True)
class KeptAside:
    """In which folder a database is kept, if it was worth it, and whether it is damaged."""

    folder: Path | None
    is_damaged: bool = False


def keep_present(notebook: Notebook) -> KeptAside:
    """Copy the database into a folder of this moment; an empty notebook needs none.

    Raises:
        NotebookUnreadable: it is in use, or out of reach.
    """
    try:
        return KeptAside(None if _is_blank(notebook) else _copy(notebook))
    except (DatabaseError, sqlite3.DatabaseError) as error:
        if tells_of_damage(error):
            return _copy_damaged(notebook)
        raise NotebookUnreadable(
            "The database of this notebook cannot be read, so nothing was restored. Close it in "
            "every window and program, and try again."
        ) from error


def take_place(notebook: Notebook, path: Path, kept: KeptAside) -> None:
    """Put a database in the place of a damaged one that is kept."""
    assert kept.folder is not None
    notebook.database.close()
    damaged = _file_of(notebook)
    for companion in _companions_of(damaged):  # what is beside it would be applied to the new file
        shutil.move(companion, kept.folder / companion.name)
    draft = damaged.with_name(f"{damaged.name}.restored")
    with path.open("rb") as source, draft.open("wb") as copy:
        shutil.copyfileobj(source, copy)
        copy.flush()
        os.fsync(copy.fileno())
    draft.replace(damaged)


def _is_blank(notebook: Notebook) -> bool:
    """Whether there is nothing to keep aside: no row that is the player's, and no clip."""
    with notebook.database.reading() as session:
        has_rows = any(
            session.scalar(select(exists().select_from(table)))
            for table in Base.metadata.sorted_tables
            if table not in (Upkeep.__table__, RowChange.__table__)
        )
    return not has_rows and not notebook.clips.names()


def _copy(notebook: Notebook) -> Path:
    folder = _make_folder(notebook)
    try:
        copy_database(notebook.database.engine, folder / DATABASE)
    except BaseException:
        shutil.rmtree(folder)
        raise
    return folder


def _copy_damaged(notebook: Notebook) -> KeptAside:
    """Copy the file byte for byte, with what lies beside it."""
    folder = _make_folder(notebook)
    file = _file_of(notebook)
    shutil.copy2(file, folder / DATABASE)
    for companion in _companions_of(file):
        shutil.copy2(companion, folder / companion.name)
    return KeptAside(folder, is_damaged=True)


def _file_of(notebook: Notebook) -> Path:
    return Path(notebook.database.engine.url.database or "")


def _companions_of(file: Path) -> list[Path]:
    beside = (file.with_name(file.name + ending) for ending in _COMPANIONS)
    return [path for path in beside if path.is_file()]


def _make_folder(notebook: Notebook) -> Path:
    folder = notebook.folder / ASIDE_FOLDER / f"{now_utc():%Y%m%d-%H%M%S-%f}"
    folder.mkdir(mode=0o700, parents=True)
    return folder
