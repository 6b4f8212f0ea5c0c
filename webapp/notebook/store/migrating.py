"""Bring a database to the schema of this version, and lose nothing on the way.

Order: refuse a database from a later version; copy the file (SQLite) when it holds a notebook that
needs changing; run the migrations in one transaction with foreign keys off, since rebuilding a
parent table with them on would delete its children; check every foreign key; only then commit. On
PostgreSQL the transaction keeps out all that write, foreign keys stand throughout, and no copy is
made. Of two programs that start at once one migrates, and the other finds that it is done.
"""

import shutil
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine
from sqlalchemy.pool import NullPool

import migrations
from webapp.notebook.store import postgresql
from webapp.notebook.store.clips import OWNER_FOLDER
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import MigrationDamage, NotebookFromLater
from webapp.notebook.store.schema import current_revision


def alembic_config(connection: Connection | None = None) -> Config:
    """Return Alembic's settings; there is no ini file."""
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config


def migrate(engine: Engine, *, backup_folder: Path | None = None) -> Path | None:
    """Upgrade the database to the newest revision.

    Returns:
        The copy that was made beforehand, or None where nothing needed one.

    Raises:
        NotebookFromLater: the database knows a revision that this version does not.
        MigrationDamage: a migration broke a foreign key; the database is as it was.
    """
    scripts = ScriptDirectory.from_config(alembic_config())
    revision = current_revision(engine)
    if revision == scripts.get_current_head():
        return None
    if revision is not None and revision not in {
        each.revision for each in scripts.walk_revisions()
    }:
        raise NotebookFromLater(revision)
    backup = _copy_database(engine, backup_folder, revision) if revision else None
    _upgrade(engine)
    return backup


def _copy_database(engine: Engine, folder: Path | None, revision: str) -> Path | None:
    database = engine.url.database
    if folder is None or engine.dialect.name != "sqlite" or not database:
        return None
    folder.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
    copy = folder / f"notebook-{revision}-{now_utc():%Y%m%d-%H%M%S-%f}.sqlite3"
    with engine.connect() as connection:
        # The open read transaction keeps writers out while the file is copied.
        connection.exec_driver_sql("SELECT count(*) FROM alembic_version").all()
        try:
            shutil.copy2(database, copy)
        except BaseException:
            copy.unlink(missing_ok=True)  # half a copy looks like a whole one
            raise
    return copy


def _upgrade(engine: Engine) -> None:
    is_sqlite = engine.dialect.name == "sqlite"
    # A connection of its own: the foreign-key setting must not return to the pool switched off.
    lone = engine if not is_sqlite else _without_pool(engine)
    with lone.connect() as connection:
        if is_sqlite:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            postgresql.queue_writers(connection, is_patient=True)
        command.upgrade(alembic_config(connection), "head")
        if is_sqlite:
            _check_foreign_keys(connection)
        connection.commit()


def _without_pool(engine: Engine) -> Engine:
    from webapp.notebook.store.db import make_engine

    return make_engine(engine.url, poolclass=NullPool)


def _check_foreign_keys(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        tables = ", ".join(sorted({str(row[0]) for row in broken}))
        raise MigrationDamage(
            f"{len(broken)} rows in {tables} would point nowhere; nothing was changed."
        )
