"""Prove that every clip is still the one that was measured."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.models import LongRecording, Take, TuningNote
from webapp.notebook import Notebook


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


def check_clips(notebook: Notebook) -> ClipReport:
    """Compare every clip with the hash in its row; nothing is changed."""
    with notebook.database.reading() as session:
        hashes = read_hashes(session)
    on_disk = notebook.clips.names()
    present = sorted(hashes.keys() & on_disk)
    return ClipReport(
        checked=len(hashes),
        missing=tuple(sorted(hashes.keys() - on_disk)),
        altered=tuple(name for name in present if notebook.clips.hash(name) != hashes[name]),
        orphans=tuple(sorted(on_disk - hashes.keys())),
    )


def read_hashes(session: Session) -> dict[str, str]:
    """Return the hash of every sound file by its name, whatever kind of row it belongs to."""
    hashes = dict(session.execute(select(Take.clip_name, Take.sha256)).all())
    hashes |= dict(session.execute(select(LongRecording.clip_name, LongRecording.sha256)).all())
    notes = select(TuningNote.clip_name, TuningNote.sha256).where(TuningNote.clip_name.is_not(None))
    return hashes | {name: sha256 for name, sha256 in session.execute(notes) if name and sha256}
