"""A throw-away PostgreSQL for a run: one cluster, and a database of its own for each test.

The processes of one run share the cluster; the first that needs it starts it. It listens on a
socket in a folder of its own, writes to the disk when it likes, and is gone when the run ends.
"""

import os
import secrets
import shutil
import sqlite3
import subprocess
from collections.abc import Sequence
from contextlib import closing
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from filelock import FileLock
from sqlalchemy import create_engine, func, insert, make_url, select
from sqlalchemy.pool import NullPool

from tests.tools import report_missing
from webapp.notebook.store.db import Database, file_address, make_engine
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.rows import Base
from webapp.notebook.upkeep import bring_up_to_date

if TYPE_CHECKING:
    from sqlalchemy import Connection

USER = "quartervent"
UNPRIVILEGED = "nobody"  # the server refuses to run as root
FOLDER = "postgresql"
KEPT = "upkeep"  # an empty notebook has these rows
OWN = (KEPT, "row_change")  # and keeps them where rows of another one come in
EMPTY, BLANK, ADMINISTRATION = "empty", "template0", "postgres"
GUARDED, PASSWORD = "guarded", "open sesame"  # a user that needs a password
DEBIAN = Path("/usr/lib/postgresql")
SETTINGS = (
    "fsync=off",
    "full_page_writes=off",
    "synchronous_commit=off",
    "listen_addresses=''",
    "max_connections=200",
    "shared_buffers=16MB",
    "autovacuum=off",
)


class Cluster:
    """A server that runs, by the folder that it lies in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._free: list[str] = []  # of this process

    def address(self, database: str) -> str:
        """Return the address of one of its databases."""
        return f"postgresql+psycopg://{USER}@/{database}?host={self.folder}"

    def lend_database(self) -> str:
        """Return the address of an empty database that nobody else uses until it is given back."""
        if self._free:
            return self._free.pop()
        return self.make_database(EMPTY)

    def make_database(self, template: str) -> str:
        """Make a database like another one and return its address."""
        name = f"t{secrets.token_hex(8)}"
        self._administer(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self.address(name)

    def cut_connections(self, address: str) -> None:
        """End every connection to a database, as a server that starts again does."""
        self._administer(
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity "
            f"WHERE datname = '{make_url(address).database}'"
        )

    def take_back(self, address: str) -> None:
        """Empty a database that nobody is connected to any more, for the next one."""
        emptied = [f"DELETE FROM {table}" for table in Base.metadata.tables if table != KEPT]
        statements = (
            "SET LOCAL session_replication_role = replica",  # in any order, past foreign keys
            *emptied,
            "SELECT setval(oid::regclass, 1, false) FROM pg_class WHERE relkind = 'S'",
        )
        engine = create_engine(address, poolclass=NullPool, use_native_hstore=False)
        with engine.begin() as connection:
            connection.exec_driver_sql("; ".join(statements))
        self._free.append(address)

    def start(self) -> None:
        """Make the cluster and start it; its databases lie beside the socket."""
        if os.name == "posix" and os.geteuid() == 0:
            shutil.chown(self.folder, UNPRIVILEGED)
        data = self.folder / "data"
        options = ("--auth=trust", "--no-sync", "--encoding=UTF8", "--no-locale")
        self._run("initdb", "-D", data, "-U", USER, *options)
        with (data / "postgresql.conf").open("a", encoding="ascii") as file:
            file.writelines(f"{line}\n" for line in SETTINGS)
            file.write(f"unix_socket_directories='{self.folder}'\n")
        (data / "pg_hba.conf").write_text(
            f"local all {GUARDED} scram-sha-256\nlocal all all trust\n", "ascii"
        )
        self._run("pg_ctl", "-D", data, "-w", "-l", self.folder / "log", "start")
        self._administer(f"CREATE ROLE {GUARDED} LOGIN PASSWORD '{PASSWORD}'")
        self._administer(f"CREATE DATABASE {EMPTY}")
        engine = make_engine(self.address(EMPTY), poolclass=NullPool)
        migrate(engine)
        bring_up_to_date(Database(engine))

    def halt(self) -> None:
        """Stop the server."""
        self._run("pg_ctl", "-D", self.folder / "data", "-w", "-m", "immediate", "stop")

    def _run(self, command: str, *words: str | Path) -> None:
        is_root = os.name == "posix" and os.geteuid() == 0
        subprocess.run(
            [str(find_binaries() / command), *map(str, words)],
            check=True,
            stdout=subprocess.DEVNULL,
            cwd=self.folder,
            user=UNPRIVILEGED if is_root else None,
            extra_groups=[] if is_root else None,
        )

    def _administer(self, statement: str) -> None:
        address = self.address(ADMINISTRATION)
        engine = create_engine(address, isolation_level="AUTOCOMMIT", poolclass=NullPool)
        with engine.connect() as connection:
            connection.exec_driver_sql(statement)


def find_binaries() -> Path:
    """Return the folder of initdb and pg_ctl, or skip (fail under CI) for want of them."""
    on_path = shutil.which("initdb")
    found = [Path(on_path).parent] if on_path else []
    found += sorted((each.parent for each in DEBIAN.glob("*/bin/initdb")), key=_version_of)
    if not found:
        report_missing("PostgreSQL is not installed; tests/run.py says how to get it")
    return found[-1]


def _version_of(binaries: Path) -> int:
    version = binaries.parent.name
    return int(version) if version.isdecimal() else 0


def share_cluster(meeting_place: Path) -> Cluster:
    """Return the cluster of this run; the first of its processes starts it.

    Args:
        meeting_place: a folder that all processes of the run know; its path is short, as that of a
            socket must be.
    """
    if find_spec("psycopg") is None:
        report_missing("psycopg is not installed; tests/run.py installs it")
    find_binaries()
    cluster = Cluster(meeting_place / FOLDER)
    with FileLock(meeting_place / "postgresql.lock"):
        if not cluster.folder.exists():
            meeting_place.chmod(0o711)  # the server's user must come through
            cluster.folder.mkdir(mode=0o700)
            cluster.start()
    return cluster


def stop_shared(meeting_place: Path) -> None:
    """Stop the cluster of this run, if one was started."""
    cluster = Cluster(meeting_place / FOLDER)
    if cluster.folder.exists():
        cluster.halt()


def copy_rows(source: Path, address: str) -> None:
    """Copy every row of a notebook's file into an empty database of the same schema."""
    with closing(sqlite3.connect(source)) as connection:
        if connection.execute("SELECT count(*) FROM instrument").fetchone() == (0,):
            return
    old, new = make_engine(file_address(source)), make_engine(address, poolclass=NullPool)
    with old.connect() as reading, new.begin() as writing:
        for table in Base.metadata.sorted_tables:
            rows: Sequence[dict[str, object]] = [
                dict(row) for row in reading.execute(select(table)).mappings()
            ]
            if rows and table.name not in OWN:
                writing.execute(insert(table), rows)
                _count_on(writing, table.name, "id" in table.columns)
    old.dispose()


def _count_on(connection: "Connection", table: str, is_numbered: bool) -> None:
    """Let new rows be numbered after those that were copied."""
    if is_numbered and table not in ("own_layout", "preferences"):
        sequence = func.pg_get_serial_sequence(table, "id")
        newest = select(func.max(Base.metadata.tables[table].c.id)).scalar_subquery()
        connection.execute(select(func.setval(sequence, newest)))
