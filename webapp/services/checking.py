"""Prove that every clip is still the one that was measured."""

from dataclasses import dataclass

from sqlalchemy import select

from webapp.models import Take
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
        hashes = dict(session.execute(select(Take.clip_name, Take.sha256)).all())
    on_disk = notebook.clips.names()
    present = sorted(hashes.keys() & on_disk)
    return ClipReport(
        checked=len(hashes),
        missing=tuple(sorted(hashes.keys() - on_disk)),
        altered=tuple(name for name in present if notebook.clips.hash(name) != hashes[name]),
        orphans=tuple(sorted(on_disk - hashes.keys())),
    )
