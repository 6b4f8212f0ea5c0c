"""One archive with the whole notebook (`backup_format` says what is in it).

The database is copied first, by SQLite's own backup, as it stands at one moment while others may
write. A clip lies in the store before its row is committed, so every clip of that moment is there
when the clips are read.
"""

import hashlib
import os
import secrets
import sqlite3
import tempfile
import zipfile
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from filelock import FileLock
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from webapp.notebook.safekeeping.archive_bounds import CHUNK_BYTES
from webapp.notebook.safekeeping.backup_format import (
    CLIPS,
    DATABASE,
    MANIFEST,
    FileFacts,
    Manifest,
    is_clip_entry,
)
from webapp.notebook.safekeeping.checking import Report, keep_silent, read_hashes
from webapp.notebook.safekeeping.integrity import find_damage
from webapp.notebook.safekeeping.leftovers import WORK_LOCK, WORK_PREFIX
from webapp.notebook.safekeeping.salvage import Salvage, salvage_database
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.db import file_address, make_engine
from webapp.notebook.store.errors import BackupRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.schema import current_revision


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What went into a backup, and which clips are not as their rows say.

    `left_out` are files in the store whose names the notebook never gave; `salvage` says what could
    be saved of a damaged database.
    """

    clip_count: int
    missing: tuple[str, ...]
    altered: tuple[str, ...]
    left_out: tuple[str, ...] = ()
    salvage: Salvage | None = None


def dated_name() -> str:
    """Return a name for a backup that is made now."""
    return f"quartervent-{now_utc():%Y-%m-%d-%H%M%S}.zip"


def write_backup(
    notebook: Notebook,
    path: Path,
    *,
    is_salvage: bool = False,
    report: Report = keep_silent,
) -> BackupReport:
    """Make a backup at a path where nothing is yet; it appears there only when it is whole.

    With `is_salvage` it holds what can be read of a damaged database.

    Raises:
        BackupRefused: there is something at that path; the database is damaged, or not a file of
            SQLite.
        OSError: it cannot be written there.
    """
    if path.exists():
        raise BackupRefused(f"There is a file {path.name} already. Choose another name.")
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as target:
            done = make_backup(notebook, target, is_salvage=is_salvage, report=report)
            target.flush()
            os.fsync(target.fileno())
        draft.rename(path)
    finally:
        draft.unlink(missing_ok=True)
    return done


def make_backup(
    notebook: Notebook,
    target: IO[bytes],
    *,
    is_salvage: bool = False,
    report: Report = keep_silent,
) -> BackupReport:
    """Write a backup into an open file; one that could not be restored is never written.

    Raises:
        BackupRefused: the database is damaged, or not a file of SQLite.
    """
    with (
        tempfile.TemporaryDirectory(prefix=WORK_PREFIX, dir=notebook.folder) as folder,
        FileLock(Path(folder) / WORK_LOCK),  # tells one at work from what a killed one left
    ):
        copy = Path(folder) / DATABASE
        saved = _copy_sound(notebook, copy, is_salvage=is_salvage)
        schema, hashes = _read_copy(copy)
        found = notebook.clips.names()
        on_disk = {name for name in found if is_clip_entry(f"{CLIPS}{name}")}
        paths = {DATABASE: copy}
        paths |= {f"{CLIPS}{name}": notebook.clips.find(name) for name in sorted(on_disk)}
        missing = tuple(sorted(hashes.keys() - on_disk))
        files = _pack(paths, target, schema, missing, report)
    return BackupReport(
        clip_count=len(on_disk),
        missing=missing,
        altered=tuple(
            name
            for name in sorted(hashes.keys() & on_disk)
            if files[f"{CLIPS}{name}"].sha256 != hashes[name]
        ),
        left_out=tuple(sorted(found - on_disk)),
        salvage=saved,
    )


def _copy_sound(notebook: Notebook, copy: Path, *, is_salvage: bool) -> Salvage | None:
    """Copy the database, and refuse a copy that could not be restored."""
    saved = None
    if is_salvage:
        saved = salvage_database(database_file(notebook), copy)
    else:
        try:
            copy_database(notebook.database.engine, copy)
        except sqlite3.DatabaseError as error:
            raise _refuse_damaged(str(error)) from error
    faults = find_damage(copy)
    if faults:
        raise _refuse_damaged(faults[0])
    return saved


def _refuse_damaged(fault: str) -> BackupRefused:
    return BackupRefused(
        f"The database of this notebook is damaged ({fault}), so a backup of it could not be "
        "restored, and none was written. Put an earlier backup back with `quartervent restore "
        "FILE`, or save what can be read: `quartervent backup --what-can-be-read FILE`."
    )


def database_file(notebook: Notebook) -> Path:
    """Return the file of a notebook's database.

    Raises:
        BackupRefused: it is not SQLite's.
    """
    _require_sqlite(notebook.database.engine)
    return Path(notebook.database.engine.url.database or "")


def copy_database(engine: Engine, path: Path) -> None:
    """Copy a database that others may be using, as it stands at one moment.

    Raises:
        BackupRefused: it is not SQLite's, which alone can be copied so.
    """
    _require_sqlite(engine)
    with closing(engine.raw_connection()) as source, closing(sqlite3.connect(path)) as copy:
        connection = source.driver_connection
        assert isinstance(connection, sqlite3.Connection)
        connection.backup(copy)


def _require_sqlite(engine: Engine) -> None:
    if engine.dialect.name != "sqlite":
        raise BackupRefused(
            "The database of this notebook is kept by a server of its own; back it up with that "
            "server's tools, and copy the folder of clips."
        )


def _read_copy(path: Path) -> tuple[str, dict[str, str]]:
    """Return the schema of a copied database, and the hashes of its clips by name."""
    engine = make_engine(file_address(path))
    try:
        with Session(engine) as session:
            hashes = read_hashes(session)
        return current_revision(engine) or "", hashes
    finally:
        engine.dispose()


def _pack(
    paths: Mapping[str, Path],
    target: IO[bytes],
    schema: str,
    missing: tuple[str, ...],
    report: Report,
) -> Mapping[str, FileFacts]:
    total, done = sum(path.stat().st_size for path in paths.values()), 0
    files = {}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
        for name, path in paths.items():
            files[name] = _pack_file(archive, name, path)
            done += files[name].byte_count
            report(done, total)
        manifest = Manifest(schema, now_utc().isoformat(timespec="seconds"), files, missing)
        archive.writestr(MANIFEST, manifest.write(), zipfile.ZIP_DEFLATED)
    return files


def _pack_file(archive: zipfile.ZipFile, name: str, path: Path) -> FileFacts:
    """Add one file; sound is stored as it is, since it hardly shrinks and this is quicker."""
    entry = zipfile.ZipInfo.from_file(path, name)
    entry.compress_type = zipfile.ZIP_DEFLATED if name == DATABASE else zipfile.ZIP_STORED
    entry.external_attr = 0o600 << 16
    digest, byte_count = hashlib.sha256(), 0
    with path.open("rb") as source, archive.open(entry, "w", force_zip64=True) as packed:
        while chunk := source.read(CHUNK_BYTES):
            digest.update(chunk)
            byte_count += packed.write(chunk)
    return FileFacts(digest.hexdigest(), byte_count)
