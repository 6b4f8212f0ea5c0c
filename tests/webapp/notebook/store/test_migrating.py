"""Migrations lose nothing.

A later migration is simulated by a folder of revisions made for the test: it rebuilds the parent
table (as Alembic's batch mode does), which with foreign keys on would delete every child row.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.exc import OperationalError

import migrations
from tests.webapp.conftest import Opener
from tests.webapp.logging_rows import Filled
from tests.webapp.notebook.targets.ranging import predict
from tests.webapp.older_forms import EARLIER, Rows, execute, file_of, keep_forms, tables_of
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.practice_targets import add_tries
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.claims import take_claim
from webapp.notebook.store.db import Database, file_address, make_engine
from webapp.notebook.store.errors import MigrationDamage, NotebookFromLater
from webapp.notebook.store.migrating import alembic_config, migrate
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Base, Role
from webapp.notebook.store.schema import current_revision, newest_revision
from webapp.notebook.targets.choices import WordDraft, say_word, set_tolerance
from webapp.notebook.upkeep import bring_up_to_date

HEAD = "0026"
REBUILD = '''"""A made-up later revision."""
import sqlalchemy as sa
from alembic import op

revision = "9001"
down_revision = "0026"


def upgrade() -> None:
    with op.batch_alter_table("instrument", recreate="always") as table:
        table.add_column(sa.Column("maker", sa.String(80), nullable=False, server_default=""))
'''
DAMAGE = REBUILD + '    op.execute("DELETE FROM instrument")\n'
FAILURE = REBUILD + '    op.execute("SELECT * FROM no_such_table")\n'


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the migrations to which a test adds a revision of its own."""
    folder = tmp_path / "migrations"
    shutil.copytree(Path(migrations.__file__).parent, folder)
    monkeypatch.setattr(migrations, "__file__", str(folder / "__init__.py"))
    yield folder / "versions" / "v9001_made_up.py"


def dump(notebook: Notebook) -> list[str]:
    """Every row of every table, as SQL."""
    with closing(sqlite3.connect(notebook.folder / "notebook.sqlite3")) as connection:
        return [line for line in connection.iterdump() if line.startswith("INSERT")]


def test_the_newest_migration_makes_exactly_the_models(tmp_path: Path) -> None:
    # that it makes every constraint too stands in test_creating
    engine = make_engine(file_address(tmp_path / "migrated.sqlite3"))
    migrate(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, Base.metadata) == []
    engine.dispose()


def test_there_is_one_line_of_migrations() -> None:
    scripts = ScriptDirectory.from_config(alembic_config())
    assert scripts.get_heads() == [HEAD]
    assert newest_revision() == HEAD
    assert tuple(sorted(each.revision for each in scripts.walk_revisions())) == (*EARLIER, HEAD)


def test_down_and_up_again_runs_with_real_rows(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    engine = make_engine(str(notebook.database.engine.url))
    with engine.connect() as connection:
        command.downgrade(alembic_config(connection), "base")
        connection.commit()
    with closing(sqlite3.connect(notebook.folder / "notebook.sqlite3")) as connection:
        tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    assert tables <= {"alembic_version", "sqlite_autoindex_alembic_version_1"}
    migrate(engine)
    assert current_revision(engine) == HEAD
    engine.dispose()


@dataclass(frozen=True)
class Crowded:
    """A notebook with a row in every table, and its database in every earlier form."""

    full: dict[str, Rows]
    forms: dict[str, Path]


@pytest.fixture(scope="module")
def crowded(
    filled_folder: tuple[Path, Filled],
    pieces_folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Crowded:
    folder, rows = tmp_path_factory.mktemp("crowded"), filled_folder[1]
    shutil.copytree(pieces_folder, folder / "notebook")
    with closing(open_notebook(folder / "notebook")) as notebook:
        file = file_of(notebook)
        change_preferences(notebook, Writing(theme="dark"))
        predict(notebook, rows.soprano, "D5-50c", -12.5)
        add_tries(notebook, start_practice(notebook, rows.soprano, PracticeDraft()))
        say_word(notebook, rows.base, WordDraft(Role.MINE))
        set_tolerance(notebook, rows.soprano, "D5 -50", 5.0)
        take_claim(notebook, "invented job")
        execute(file, f"INSERT INTO received_origin VALUES ({rows.child}, 1, 'Invented Player')")
        assert all(tables_of(file).values())
        # earlier forms have no such take
        execute(file, "DELETE FROM take WHERE fingering_id IS NULL")
        return Crowded(tables_of(file), keep_forms(notebook, folder))


@pytest.mark.parametrize("revision", EARLIER)
def test_a_notebook_of_any_earlier_form_keeps_every_value(
    crowded: Crowded, tmp_path: Path, revision: str
) -> None:
    full, file = crowded.full, tmp_path / "notebook.sqlite3"
    shutil.copy(crowded.forms[revision], file)
    before = tables_of(file)

    with closing(Database(make_engine(file_address(file)))) as database:
        migrate(database.engine)
        bring_up_to_date(database)

    after = tables_of(file)
    assert after.keys() == full.keys()
    before.pop("upkeep", None)  # going back over a rule says that it is to be done again
    for name, rows in before.items():
        there = rows[0].keys()
        kept = [{each: row[each] for each in there} for row in rows]
        assert [{each: row[each] for each in there} for row in full[name]] == kept
        assert [{each: row[each] for each in there} for row in after[name]] == kept
    # what is derived is derived again: the newest form of every row comes back whole
    assert after["fingering"] == _without_what_is_new(full["fingering"], before["fingering"])


def _without_what_is_new(full: Rows, before: Rows) -> Rows:
    """Rows as they were, but for what an earlier form could not hold: that is at its default."""
    defaults = {"shares_evidence": 0}
    lost = {name: value for name, value in defaults.items() if name not in before[0]}
    return [{**row, **lost} for row in full]


def test_a_notebook_that_is_up_to_date_is_not_touched(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = notebook.folder / "notebook.sqlite3"
    before = file.read_bytes()
    assert migrate(notebook.database.engine, backup_folder=notebook.folder / "backups") is None
    assert file.read_bytes() == before
    assert not (notebook.folder / "backups").exists()


def test_a_new_notebook_needs_no_copy(tmp_path: Path) -> None:
    open_notebook(tmp_path / "new").close()
    assert not (tmp_path / "new" / "backups").exists()


def test_an_older_notebook_is_copied_first_and_loses_no_row(
    filled: tuple[Notebook, Filled], later: Path
) -> None:
    notebook, _ = filled
    file = notebook.folder / "notebook.sqlite3"
    before, rows_before = file.read_bytes(), dump(notebook)
    later.write_text(REBUILD)
    copy = migrate(notebook.database.engine, backup_folder=notebook.folder / "backups")
    assert copy is not None
    assert copy.read_bytes() == before
    assert copy.name.startswith(f"notebook-{HEAD}-")
    assert current_revision(notebook.database.engine) == "9001"
    kept = [line for line in rows_before if '"instrument"' not in line and "alembic" not in line]
    after = dump(notebook)
    assert len(after) == len(rows_before)
    assert set(kept) <= set(after)
    with notebook.database.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []


@pytest.mark.parametrize(
    ("revision", "error", "words"),
    [
        (DAMAGE, MigrationDamage, r"rows in fingering.* would point nowhere"),
        (FAILURE, OperationalError, "no_such_table"),
    ],
)
def test_a_migration_that_damages_rows_or_fails_half_way_is_undone(
    filled: tuple[Notebook, Filled],
    later: Path,
    revision: str,
    error: type[Exception],
    words: str,
) -> None:
    notebook, _ = filled
    before = dump(notebook)
    later.write_text(revision)
    with pytest.raises(error, match=words):
        migrate(notebook.database.engine, backup_folder=notebook.folder / "backups")
    assert current_revision(notebook.database.engine) == HEAD
    assert dump(notebook) == before


def test_a_notebook_of_a_later_version_is_refused_and_not_changed(
    filled: tuple[Notebook, Filled], opened: Opener
) -> None:
    notebook, _ = filled
    file = notebook.folder / "notebook.sqlite3"
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    before = file.read_bytes()
    with pytest.raises(NotebookFromLater, match=r"newer Quartervent.*9999.*Nothing was changed"):
        open_notebook(notebook.folder)
    assert file.read_bytes() == before
    assert not (notebook.folder / "backups").exists()


def test_an_upgrade_is_not_begun_without_its_copy(
    filled: tuple[Notebook, Filled], later: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, _ = filled
    later.write_text(REBUILD)

    def disk_is_full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copy2", disk_is_full)
    with pytest.raises(OSError, match="No space left"):
        migrate(notebook.database.engine, backup_folder=notebook.folder / "backups")
    assert current_revision(notebook.database.engine) == HEAD
