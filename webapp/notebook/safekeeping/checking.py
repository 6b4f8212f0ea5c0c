"""Prove that every clip is still the one that was measured, and clear away what belongs to none.

A server may be at work on the same notebook. It keeps a clip before it writes the row, so a young
clip without a row may be about to get one, and is left alone. What is cleared away is moved, not
deleted, while no row can be written.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.notebook.safekeeping.integrity import find_damage, find_unreadable
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook, database_path, refuse_later
from webapp.notebook.store.rows import (
    KeptLoop,
    KeptRun,
    LongRecording,
    PageFile,
    PieceOriginal,
    ReceivedClip,
    Take,
    TuningNote,
)
from webapp.notebook.store.schema import current_revision, newest_revision

ASIDE_FOLDER = "clips-set-aside"
Report = Callable[[int, int], None]  # done, in all


def keep_silent(done: int, total: int) -> None:
    """Report to nobody."""
    del done, total


@dataclass(frozen=True, slots=True)
class ClipReport:
    """Which clips are missing, altered, or belong to no take."""

    checked: int
    missing: tuple[str, ...]
    altered: tuple[str, ...]
    orphans: tuple[str, ...]

    @property
    def is_sound(self) -> bool:
        """Whether every take has its clip, unaltered, and no clip is left over."""
        return not (self.missing or self.altered or self.orphans)


def check_clips(notebook: Notebook, *, report: Report = keep_silent) -> ClipReport:
    """Compare every clip with the hash in its row; nothing is changed.

    `report` is told how many clips are done, and how many there are.
    """
    # Looked at before the rows and after: a take kept meanwhile is neither left over nor gone.
    before = notebook.clips.names()
    with notebook.database.reading() as session:
        hashes = read_hashes(session)
    on_disk = notebook.clips.names()
    present = sorted(hashes.keys() & on_disk)
    altered = []
    for done, name in enumerate(present, start=1):
        if notebook.clips.hash(name) != hashes[name]:
            altered.append(name)
        report(done, len(present))
    return ClipReport(
        checked=len(hashes),
        missing=tuple(sorted(hashes.keys() - on_disk)),
        altered=tuple(altered),
        orphans=tuple(sorted((before & on_disk) - hashes.keys())),
    )


@dataclass(frozen=True, slots=True)
class DatabaseReport:
    """What is wrong with a database: its damage, and rows that say what cannot be read.

    `is_older` says that an earlier version wrote it, so that its contents were not read;
    `is_served` that a server keeps it, whose files cannot be looked at from here.
    """

    damage: tuple[str, ...]
    unreadable: tuple[str, ...] = ()
    is_older: bool = False
    is_served: bool = False

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.damage or self.unreadable)


def check_database(notebook: Notebook) -> DatabaseReport:
    """Look for damage in a database, and read what stands in it; nothing is changed.

    Raises:
        NotebookFromLater: a newer version wrote it.
    """
    engine = notebook.database.engine
    path = database_path(notebook.folder)
    damage = find_damage(path) if path is not None else ()
    if damage:
        return DatabaseReport(damage)
    refuse_later(engine)
    if current_revision(engine) != newest_revision():
        return DatabaseReport((), is_older=True, is_served=path is None)
    with notebook.database.reading() as session:
        return DatabaseReport((), find_unreadable(session), is_served=path is None)


@dataclass(frozen=True, slots=True)
class Clearing:
    """Which clips were moved, to which folder, and which are too young to be moved."""

    moved: tuple[str, ...]
    folder: Path | None
    too_young: tuple[str, ...]


def set_orphans_aside(notebook: Notebook) -> Clearing:
    """Move the clips that belong to nothing out of the store, into a folder of this moment.

    Raises:
        OSError: a file cannot be moved; those before it are in the folder.
    """
    folder = notebook.folder / ASIDE_FOLDER / f"{now_utc():%Y%m%d-%H%M%S-%f}"
    with notebook.database.writing() as session:  # nobody writes a row until the files are moved
        orphans = sorted(notebook.clips.names() - read_hashes(session).keys())
        moved = tuple(name for name in orphans if notebook.clips.is_settled(name))
        notebook.clips.set_aside(moved, folder)
    too_young = tuple(name for name in orphans if name not in moved)
    return Clearing(moved, folder if moved else None, too_young)


def read_hashes(session: Session) -> dict[str, str]:
    """Return the hash of every file by its name: sound, originals and pages of pieces."""
    hashes = dict(session.execute(select(Take.clip_name, Take.sha256)).all())
    hashes |= dict(session.execute(select(LongRecording.clip_name, LongRecording.sha256)).all())
    hashes |= dict(session.execute(select(PieceOriginal.clip_name, PieceOriginal.sha256)).all())
    hashes |= dict(session.execute(select(PageFile.clip_name, PageFile.sha256)).all())
    hashes |= dict(session.execute(select(KeptRun.clip_name, KeptRun.sha256)).all())
    hashes |= dict(session.execute(select(KeptLoop.clip_name, KeptLoop.sha256)).all())
    hashes |= dict(session.execute(select(ReceivedClip.clip_name, ReceivedClip.sha256)).all())
    notes = select(TuningNote.clip_name, TuningNote.sha256).where(TuningNote.clip_name.is_not(None))
    return hashes | {name: sha256 for name, sha256 in session.execute(notes) if name and sha256}
