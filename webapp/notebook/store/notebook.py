"""A notebook: the folder a player owns, with its database, its clips and the key of its cookies."""

import hmac
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, Engine
from sqlalchemy.exc import DatabaseError

from webapp.notebook.store.addresses import (
    DATABASE_VARIABLE,
    make_named_engine,
    read_address,
    refuse_out_of_reach,
)
from webapp.notebook.store.clips import OWNER_FILE, OWNER_FOLDER, ClipStore
from webapp.notebook.store.creating import create_schema
from webapp.notebook.store.db import Database, file_address, tells_of_damage
from webapp.notebook.store.errors import NotebookDamaged, NotebookFromLater, NotebookUnreadable
from webapp.notebook.store.schema import current_revision, newest_revision

DATABASE_FILE = "notebook.sqlite3"
CLIPS_FOLDER = "clips"
_KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Notebook:
    """What every service works on."""

    folder: Path
    database: Database
    clips: ClipStore
    is_demo: bool = False
    news: tuple[str, ...] = ()
    """What opening it changed, in sentences for the player."""

    def close(self) -> None:
        """Let go of the database."""
        self.database.close()


def open_store(folder: Path, *, is_demo: bool = False) -> Notebook:
    """Make the folder if needed, bring the schema of its database up to date and open it.

    Raises:
        NotebookFromLater: the database was written by a newer version.
        NotebookUnreadable: it is locked or out of reach.
        DatabaseOutOfReach: the engine that keeps it does not let the notebook in.
        NotebookDamaged: it is damaged, or not that of a notebook.
        MigrationDamage: upgrading it would have lost rows; it is as it was.
    """
    folder = folder.resolve()
    folder.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
    clips = ClipStore(folder / CLIPS_FOLDER)
    clips.prepare()
    path = folder / DATABASE_FILE if is_demo else database_path(folder)
    if path is not None and not path.exists():
        path.touch(mode=OWNER_FILE)  # SQLite would make it as readable as any file
    engine = make_named_engine(
        file_address(folder / DATABASE_FILE) if is_demo else _address(folder),
        is_thrown_away=is_demo,
    )
    with let_go_on_failure(engine):
        _bring_up_to_date(engine, folder / "backups")
    return Notebook(folder=folder, database=Database(engine), clips=clips, is_demo=is_demo)


def hold_notebook(folder: Path) -> Notebook:
    """Take hold of a notebook whose database cannot be opened, so that a backup can replace it."""
    folder = folder.resolve()
    return Notebook(
        folder, Database(make_named_engine(_address(folder))), ClipStore(folder / CLIPS_FOLDER)
    )


def peek_notebook(folder: Path) -> Notebook | None:
    """Open a notebook for reading only: nothing is made, changed or brought up to date.

    Returns:
        The notebook, or None where there is none yet.

    Raises:
        NotebookUnreadable: it is damaged, or another version of the program opened it last.
    """
    notebook = look_at_notebook(folder)
    if notebook is None:
        return None
    engine = notebook.database.engine
    with let_go_on_failure(engine):
        if current_revision(engine) != newest_revision():
            raise NotebookUnreadable(
                "Another version of the program opened this notebook last. "
                "Open it once with `quartervent serve`."
            )
    return notebook


def look_at_notebook(folder: Path) -> Notebook | None:
    """Take hold of a notebook for reading only, whatever its schema and state; None for none."""
    folder = folder.resolve()
    url = _address(folder)
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "")
        if not path.is_file():
            return None
        url = URL.create(
            url.drivername,
            database=path.resolve().as_uri(),
            query={"mode": "ro", "uri": "true"},
        )
    engine = make_named_engine(url)
    if url.get_backend_name() != "sqlite":
        with let_go_on_failure(engine):
            if current_revision(engine) is None:
                engine.dispose()
                return None
    return Notebook(folder, Database(engine), ClipStore(folder / CLIPS_FOLDER))


def _address(folder: Path) -> URL:
    named = os.environ.get(DATABASE_VARIABLE)
    return read_address(named) if named else file_address(folder / DATABASE_FILE)


def refuse_later(engine: Engine) -> None:
    """Refuse a database whose schema this version does not know.

    Raises:
        NotebookFromLater: a newer version wrote it.
    """
    revision = current_revision(engine)
    if revision is not None and revision > newest_revision():
        raise NotebookFromLater(revision)


def database_path(folder: Path) -> Path | None:
    """Return where the database of a folder's notebook lies; None where it is not SQLite's."""
    url = _address(folder.resolve())
    return Path(url.database or "") if url.get_backend_name() == "sqlite" else None


@contextmanager
def let_go_on_failure(engine: Engine) -> Iterator[None]:
    """Let go of the database if it cannot be used, and say so in a sentence."""
    try:
        yield
    except BaseException as error:
        engine.dispose()
        if not isinstance(error, DatabaseError):
            raise
        refuse_out_of_reach(engine, error)
        if tells_of_damage(error):
            raise NotebookDamaged(
                f"The database of this notebook is damaged ({error.orig}). Put a backup in its "
                "place with `quartervent restore FILE`; the damaged file is kept aside."
            ) from error
        raise NotebookUnreadable(
            f"The database of this notebook cannot be read ({error.orig}). Close other programs "
            "that use it, and try again."
        ) from error


def _bring_up_to_date(engine: Engine, backup_folder: Path) -> None:
    revision = current_revision(engine)
    if revision == newest_revision() or (revision is None and create_schema(engine)):
        return
    from webapp.notebook.store.migrating import migrate

    migrate(engine, backup_folder=backup_folder)


def read_cookie_key(folder: Path) -> bytes:
    """Return the key that signs cookies; made at first use, for its owner only."""
    path = folder / "session.key"
    if not path.is_file() or path.stat().st_size != _KEY_BYTES:
        _make_cookie_key(path)
    return path.read_bytes()


def mark_of(session_key: bytes) -> str:
    """Return by what pages tell one notebook from another served at the same address.

    It says nothing of the key it is made from, and moves with the folder.
    """
    return hmac.digest(session_key, b"which notebook", "sha256").hex()[:16]


def _make_cookie_key(path: Path) -> None:
    """Write a new key beside its place and move it there: never half a key."""
    draft = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(secrets.token_bytes(_KEY_BYTES))
    draft.replace(path)
