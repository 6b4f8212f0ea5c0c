"""Put a backup back: look at all of it first, then change everything at one moment.

The archive is unpacked beside the notebook, and nothing is touched before every file has the hash
its list of contents gives, the database is sound and complete, and it has the schema of this
version. Then the notebook that is there is kept aside (`before-restore/`); the clips of the backup
join the store, where each has a name of its own; and the database is loaded by SQLite's own backup,
which is one transaction. Killed before that moment, the old notebook is whole; killed after it, the
new one is. A database too damaged for that is copied aside as it is, and the new file takes its
place by one renaming. Only then the clips that the new notebook does not know are moved aside.
"""

import hashlib
import os
import shutil
import sqlite3
import time
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine, inspect
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from webapp.notebook.safekeeping.archive_bounds import read_chunks, readable
from webapp.notebook.safekeeping.backup_format import (
    CLIPS,
    DATABASE,
    FileFacts,
    Manifest,
    read_listing,
)
from webapp.notebook.safekeeping.checking import Report, keep_silent, read_hashes
from webapp.notebook.safekeeping.keeping_aside import KeptAside, keep_present, take_place
from webapp.notebook.safekeeping.leftovers import UNPACKING_FOLDER
from webapp.notebook.store.db import Database, file_address, make_engine
from webapp.notebook.store.errors import BackupRefused, NotebookUnreadable
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Base
from webapp.notebook.store.schema import current_revision
from webapp.notebook.upkeep import bring_up_to_date

PATIENCE_S = 20.0
_ROOM_TO_SPARE_BYTES = 64 << 20
_UNREADABLE = (
    "This file cannot be read as a backup: it is damaged, incomplete or something else. "
    "Nothing was changed. Choose a file that `quartervent backup` made."
)


@dataclass(frozen=True, slots=True)
class RestoreReport:
    """What was restored, and where the notebook that was there is kept, if there was any."""

    made_at: str
    clip_count: int
    missing: tuple[str, ...]
    aside: Path | None
    was_damaged: bool = False


def restore_backup(
    notebook: Notebook, path: Path, *, report: Report = keep_silent
) -> RestoreReport:
    """Make the notebook what it was when a backup was made.

    Raises:
        BackupRefused: the archive is none, damaged, incomplete or hostile; nothing is changed.
        BackupFromLater: a newer version made it; nothing is changed.
        NotebookUnreadable: the notebook is in use all the time; nothing is changed.
    """
    if notebook.database.engine.dialect.name != "sqlite":
        raise BackupRefused(
            "The database of this notebook is kept by a server of its own; a backup can be "
            "restored into a notebook that keeps it in its folder."
        )
    work = notebook.folder / UNPACKING_FOLDER
    shutil.rmtree(work, ignore_errors=True)  # left by one that was killed
    try:
        manifest = _unpack(path, work, report)
        _check_database(work / DATABASE, manifest)
        kept = keep_present(notebook)
        _swap(notebook, work, manifest, kept)
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return RestoreReport(
        manifest.made_at,
        len(manifest.clip_names),
        manifest.missing,
        kept.folder,
        was_damaged=kept.is_damaged,
    )


def _unpack(path: Path, work: Path, report: Report) -> Manifest:
    with _opened(path) as archive:
        with readable(_UNREADABLE, BackupRefused):
            manifest = read_listing(archive, path.stat().st_size)
        (work / CLIPS).mkdir(parents=True)
        free = shutil.disk_usage(work).free
        if manifest.total_bytes + _ROOM_TO_SPARE_BYTES > free:
            raise BackupRefused(
                f"This backup needs {manifest.total_bytes / 1e6:,.0f} MB of room, and "
                f"{free / 1e6:,.0f} MB are free. Make room first."
            )
        done = 0
        for name, facts in manifest.files.items():
            _unpack_file(archive, name, facts, work / name)
            done += facts.byte_count
            report(done, manifest.total_bytes)
    return manifest


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    with readable(_UNREADABLE, BackupRefused):
        archive = zipfile.ZipFile(path)
    with archive:
        yield archive


def _unpack_file(archive: zipfile.ZipFile, name: str, facts: FileFacts, target: Path) -> None:
    digest, byte_count = hashlib.sha256(), 0
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        for chunk in read_chunks(archive, name, words=_UNREADABLE, refusal=BackupRefused):
            digest.update(chunk)
            byte_count += len(chunk)
            if byte_count > facts.byte_count:
                break
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())
    if (digest.hexdigest(), byte_count) != (facts.sha256, facts.byte_count):
        raise BackupRefused(
            f"“{name}” in this backup is not what it was when the backup was made. Nothing was "
            "changed; use another backup."
        )


def _check_database(path: Path, manifest: Manifest) -> None:
    """Refuse a database that is damaged or no notebook's; bring an older one up to date."""
    try:
        _check_file(path)
        engine = make_engine(file_address(path))
        try:
            if current_revision(engine) != manifest.schema:
                raise _no_notebook("its schema is not the one its list of contents says")
            _migrate(engine)
            _check_tables(engine)
            bring_up_to_date(Database(engine))
            _check_clips(engine, manifest)
        finally:
            engine.dispose()
    except (sqlite3.Error, DatabaseError) as error:
        raise _no_notebook("it cannot be read") from error


def _no_notebook(reason: str) -> BackupRefused:
    return BackupRefused(
        f"The database in this backup is not that of a whole notebook: {reason}. Nothing was "
        "changed; use another backup."
    )


def _check_file(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA journal_mode = DELETE")
        made = connection.execute(
            "SELECT count(*) FROM sqlite_master WHERE type IN ('trigger', 'view')"
        ).fetchone()
        if made != (0,):
            raise _no_notebook("it holds parts that no notebook has")
        if connection.execute("PRAGMA integrity_check(1)").fetchone() != ("ok",):
            raise _no_notebook("it is damaged")
        if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
            raise _no_notebook("some of its rows point nowhere")


def _migrate(engine: Engine) -> None:
    from webapp.notebook.store.migrating import migrate

    migrate(engine)


def _check_tables(engine: Engine) -> None:
    found = inspect(engine)
    there = {
        (table, column["name"])
        for table in found.get_table_names()
        for column in found.get_columns(table)
    }
    for table in Base.metadata.sorted_tables:
        if not {(table.name, column.name) for column in table.columns} <= there:
            raise _no_notebook(f"its table {table.name} is incomplete")


def _check_clips(engine: Engine, manifest: Manifest) -> None:
    with Session(engine) as session:
        named = read_hashes(session).keys()
    lost = sorted(named - set(manifest.clip_names) - set(manifest.missing))
    if lost:
        raise BackupRefused(
            f"{len(lost)} recordings that this backup needs are not in it, {lost[0]} among them. "
            "Nothing was changed; use another backup."
        )


def _swap(notebook: Notebook, work: Path, manifest: Manifest, kept: KeptAside) -> None:
    store, replaced, aside = notebook.clips, work / "replaced", kept.folder
    before, added = store.names(), []
    known = _read_known(notebook, is_damaged=kept.is_damaged)
    try:
        for name in manifest.clip_names:
            if name in before:
                if store.hash(name) == manifest.files[f"{CLIPS}{name}"].sha256:
                    continue
                store.set_aside([name], replaced)
            added.append(name)
            store.put_back(work / CLIPS / name, name)
        if kept.is_damaged:
            take_place(notebook, work / DATABASE, kept)
        else:
            _load(notebook.database.engine, work / DATABASE)
    except BaseException:
        store.remove(added)
        for path in replaced.glob("*"):
            store.put_back(path, path.name)
        raise
    if aside is not None:
        for path in replaced.glob("*"):
            (aside / CLIPS).mkdir(exist_ok=True)
            path.rename(aside / CLIPS / path.name)
        _set_others_aside(notebook, aside / CLIPS, known)


def _read_known(notebook: Notebook, *, is_damaged: bool) -> frozenset[str]:
    """Return the clips that have a row now: nobody is about to write one for them."""
    if is_damaged:
        return frozenset()
    with notebook.database.reading() as session:
        return frozenset(read_hashes(session))


def _set_others_aside(notebook: Notebook, folder: Path, known: frozenset[str]) -> None:
    """Move the clips that no row needs any more, while no row can be written.

    A young clip that never had a row stays: its row may be about to be written.
    """
    store = notebook.clips
    with notebook.database.writing() as session:
        others = store.names() - read_hashes(session).keys()
        gone = [name for name in sorted(others) if name in known or store.is_settled(name)]
        store.set_aside(gone, folder)


def _load(engine: Engine, path: Path) -> None:
    """Make the database what another one is, in one transaction of SQLite's own."""
    deadline_s = time.monotonic() + PATIENCE_S

    def give_up_in_time(status: int, remaining: int, total: int) -> None:
        del remaining, total
        is_waiting = status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
        if is_waiting and time.monotonic() > deadline_s:
            raise TimeoutError

    with closing(engine.raw_connection()) as target, closing(sqlite3.connect(path)) as source:
        connection = target.driver_connection
        assert isinstance(connection, sqlite3.Connection)
        try:
            source.backup(connection, progress=give_up_in_time, sleep=0.1)
        except (TimeoutError, sqlite3.OperationalError) as error:
            raise NotebookUnreadable(
                "The notebook is being written all the time, so nothing was restored. Close it in "
                "every window and program, and try again."
            ) from error
