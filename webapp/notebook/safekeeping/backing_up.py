"""Make a backup in the background of a served notebook, to be fetched once."""

import tempfile
from dataclasses import dataclass
from functools import partial
from typing import IO, cast

from webapp.notebook.safekeeping.backup import BackupReport, dated_name, make_backup
from webapp.notebook.safekeeping.leftovers import WORK_PREFIX
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import PATIENCE_S, Name, Outcome, Report, ResultCache

NAME: Name = ("backup", 0)


@dataclass(frozen=True, slots=True, eq=False)
class MadeBackup:
    """A backup in a file without a name, which is gone when the file is closed."""

    file: IO[bytes]
    file_name: str
    report: BackupReport


def begin_backup(
    notebook: Notebook, result_cache: ResultCache, *, patience_s: float = PATIENCE_S
) -> Outcome[MadeBackup]:
    """Begin a backup of this moment, unless one is being made; wait a moment for it."""
    make = partial(_make, notebook)
    return result_cache.ask(NAME, None, make, patience_s=patience_s)


def find_backup(result_cache: ResultCache) -> Outcome[MadeBackup] | None:
    """Return how far the backup is; None where none was begun."""
    return cast("Outcome[MadeBackup] | None", result_cache.look(NAME))


def fetch_backup(result_cache: ResultCache) -> MadeBackup | None:
    """Hand out the backup that was made, once; None where there is none."""
    return cast("MadeBackup | None", result_cache.take(NAME))


def give_up_backup(result_cache: ResultCache) -> None:
    """Stop making it; nothing is left of it."""
    result_cache.give_up(NAME)


def _make(notebook: Notebook, report: Report) -> MadeBackup:
    file = tempfile.TemporaryFile(prefix=WORK_PREFIX, dir=notebook.folder)  # noqa: SIM115 - kept
    try:
        done = make_backup(notebook, file, report=lambda part, whole: report(part / max(whole, 1)))
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return MadeBackup(file, dated_name(), done)
