"""A backup and its way back: identical, whole, and careful. Hashes by hashlib (FIPS 180-4)."""

import hashlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import textwrap
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import delete

from tests.thinning import every_daily
from tests.webapp.logging_rows import Filled, add_clarinet, log
from tests.webapp.notebook.safekeeping.archives import put_together, unpack
from tests.webapp.older_forms import EARLIER, file_of, tables_of, take_form
from tests.webapp.snapshots import snapshot
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import restoring
from webapp.notebook.safekeeping.backup import dated_name, make_backup, write_backup
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import BackupRefused, NotebookUnreadable
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook, read_cookie_key
from webapp.notebook.store.rows import Fingering, Take
from webapp.notebook.upkeep import bring_up_to_date

KEYS = "T R 123 | 12-"


def pack(notebook: Notebook) -> bytes:
    """Make a backup in memory."""
    made = io.BytesIO()
    make_backup(notebook, made)
    return made.getvalue()


def rows(notebook: Notebook) -> list[str]:
    """Everything the database holds, as SQL."""
    with closing(sqlite3.connect(notebook.folder / "notebook.sqlite3")) as connection:
        return list(connection.iterdump())


def clips(notebook: Notebook) -> dict[str, bytes]:
    """The bytes of every clip."""
    store = notebook.clips
    return {name: store.find(name).read_bytes() for name in store.names()}


@pytest.fixture
def other(tmp_path: Path) -> Notebook:
    """Another notebook, with something in it."""
    made = open_notebook(tmp_path / "other")
    log(made, add_clarinet(made, "another clarinet"), "E5", KEYS)
    return made


@pytest.fixture(scope="module")
def archive(filled_folder: tuple[Path, Filled], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of the filled notebook."""
    folder = tmp_path_factory.mktemp("archive")
    shutil.copytree(filled_folder[0], folder / "notebook")
    with closing(open_notebook(folder / "notebook")) as notebook:
        write_backup(notebook, folder / "backup.zip")
    return folder / "backup.zip"


def test_the_archive_holds_everything_and_says_what(
    filled: tuple[Notebook, Filled], archive: Path
) -> None:
    notebook, _ = filled
    read_cookie_key(notebook.folder)
    contents = unpack(archive)
    manifest = json.loads(contents.pop("manifest.json"))
    names = {f"clips/{name}" for name in notebook.clips.names()}
    assert len(names) >= 4
    assert set(contents) == {"notebook.sqlite3", *names}
    assert manifest["files"] == {
        name: {"sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
        for name, content in contents.items()
    }
    assert manifest["missing"] == []
    assert (archive.stat().st_mode & 0o077) == 0, "a notebook is for its owner's eyes"


def test_the_key_that_signs_cookies_stays_at_home(
    filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    key = read_cookie_key(filled[0].folder)
    path = tmp_path / "again.zip"
    write_backup(filled[0], path)
    with zipfile.ZipFile(path) as packed:
        assert all(key not in packed.read(name) for name in packed.namelist())
        assert not [name for name in packed.namelist() if "key" in name]


def test_a_backup_changes_nothing_and_leaves_nothing_behind(
    filled: tuple[Notebook, Filled],
) -> None:
    before = snapshot(filled[0])
    pack(filled[0])
    assert snapshot(filled[0]) == before


def test_the_round_trip_is_identical(
    filled: tuple[Notebook, Filled], archive: Path, tmp_path: Path
) -> None:
    with closing(open_notebook(tmp_path / "new")) as new:
        done = restore_backup(new, archive)
        assert rows(new) == rows(filled[0])
        assert clips(new) == clips(filled[0])
        assert check_clips(new) == check_clips(filled[0])
        assert done.aside is None, "there was nothing to keep"
        assert done.clip_count == len(new.clips.names())
        assert {each.name for each in new.folder.iterdir()} == {"clips", "notebook.sqlite3"}
        assert open_fingering(new, filled[1].base).fingering.notes == "First of its line."


def settle(clip: Path) -> None:
    """Make a clip so old that nobody can be about to write its row."""
    os.utime(clip, (1e9, 1e9))


def test_a_young_clip_that_has_no_row_yet_is_left_in_the_store(
    archive: Path, other: Notebook
) -> None:
    young = other.clips.folder / "0123.wav"
    young.write_bytes(b"its row is about to be written")
    done = restore_backup(other, archive)
    assert young.is_file()
    assert done.aside is not None and not (done.aside / "clips" / "0123.wav").exists()


def test_what_was_there_is_kept_aside_and_can_be_put_back(
    filled: tuple[Notebook, Filled], archive: Path, other: Notebook, tmp_path: Path
) -> None:
    lone = other.clips.folder / "0123.wav"
    lone.write_bytes(b"a recording of the other notebook")
    settle(lone)
    before = rows(other)
    done = restore_backup(other, archive)
    assert rows(other) == rows(filled[0])
    assert clips(other) == clips(filled[0])
    assert done.aside is not None
    assert (done.aside / "clips" / "0123.wav").read_bytes() == b"a recording of the other notebook"
    shutil.copytree(done.aside, tmp_path / "old")
    with closing(open_notebook(tmp_path / "old")) as old:
        assert rows(old) == before


def test_restoring_into_the_same_notebook_takes_back_what_was_lost(
    filled: tuple[Notebook, Filled], archive: Path
) -> None:
    notebook, numbers = filled
    wanted_rows, wanted_clips = rows(notebook), clips(notebook)
    name = sorted(wanted_clips)[0]
    notebook.clips.find(name).write_bytes(b"damaged meanwhile")
    notebook.clips.remove(sorted(wanted_clips)[1:2])
    with notebook.database.writing() as session:
        session.execute(delete(Take))
        session.execute(delete(Fingering).where(Fingering.id == numbers.silent))
    done = restore_backup(notebook, archive)
    assert rows(notebook) == wanted_rows
    assert clips(notebook) == wanted_clips
    assert done.aside is not None
    assert (done.aside / "clips" / name).read_bytes() == b"damaged meanwhile"


def test_an_open_notebook_shows_what_was_restored(
    filled: tuple[Notebook, Filled], archive: Path
) -> None:
    notebook, numbers = filled
    with closing(open_notebook(notebook.folder)) as second:
        with second.database.writing() as session:
            session.execute(delete(Fingering))
        restore_backup(notebook, archive)
        assert open_fingering(second, numbers.base).fingering.notes == "First of its line."


def test_writing_goes_on_while_a_backup_is_made(
    filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    notebook, numbers = filled
    before = rows(notebook)

    def log_another(done: int, total: int) -> None:
        del done, total
        log(notebook, numbers.soprano, "E5", KEYS)

    path = tmp_path / "busy.zip"
    write_backup(notebook, path, report=log_another)
    assert len(rows(notebook)) > len(before)
    with closing(open_notebook(tmp_path / "new")) as new:
        restore_backup(new, path)
        assert rows(new) == before, "as it stood when the backup began"


def test_a_clip_that_is_missing_or_altered_is_named_and_stays_so(
    filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    notebook, _ = filled
    gone, odd = sorted(check_clips_names(notebook))[:2]
    notebook.clips.remove([gone])
    notebook.clips.find(odd).write_bytes(b"altered")
    (notebook.clips.folder / "my own file.wav").write_bytes(b"put there by hand")
    done = write_backup(notebook, tmp_path / "b.zip")
    assert (done.missing, done.altered) == ((gone,), (odd,))
    assert done.left_out == ("my own file.wav",)
    with closing(open_notebook(tmp_path / "new")) as new:
        restored = restore_backup(new, tmp_path / "b.zip")
        assert restored.missing == (gone,)
        report = check_clips(new)
        assert (report.missing, report.altered) == ((gone,), (odd,))


def check_clips_names(notebook: Notebook) -> set[str]:
    """The clips that rows know."""
    return set(notebook.clips.names()) - set(check_clips(notebook).orphans)


@pytest.mark.parametrize("revision", every_daily(7, EARLIER))
def test_a_backup_of_an_earlier_form_is_brought_up_to_date_and_keeps_every_value(
    filled: tuple[Notebook, Filled],
    filled_forms: Path,
    archive: Path,
    tmp_path: Path,
    revision: str,
) -> None:
    notebook, _ = filled
    take_form(notebook, filled_forms, revision)
    file = file_of(notebook)
    old = {**unpack(archive), file.name: file.read_bytes()}
    path = put_together(tmp_path / "old.zip", old, schema=revision)
    with closing(open_notebook(tmp_path / "new")) as new:
        restore_backup(new, path)
        assert clips(new) == clips(notebook)
        migrate(notebook.database.engine)
        bring_up_to_date(notebook.database)
        assert tables_of(file_of(new)) == tables_of(file)


def test_a_file_that_is_there_is_never_written_over(
    filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    (tmp_path / "b.zip").write_bytes(b"an older backup")
    with pytest.raises(BackupRefused, match="already"):
        write_backup(filled[0], tmp_path / "b.zip")
    assert (tmp_path / "b.zip").read_bytes() == b"an older backup"


def test_a_backup_that_fails_half_way_leaves_no_half_file(
    filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    def fail(done: int, total: int) -> None:
        raise OSError(28, "No space left on device")

    folder = tmp_path / "stick"
    folder.mkdir()
    before = snapshot(filled[0])
    with pytest.raises(OSError, match="No space"):
        write_backup(filled[0], folder / "b.zip", report=fail)
    assert list(folder.iterdir()) == []
    assert snapshot(filled[0]) == before


def test_a_notebook_in_use_all_the_time_is_left_as_it_is(
    other: Notebook, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(restoring, "PATIENCE_S", 0.2)
    before_rows, before_clips = rows(other), clips(other)
    with closing(sqlite3.connect(other.folder / "notebook.sqlite3")) as connection:
        connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotebookUnreadable, match="written all the time"):
            restore_backup(other, archive)
        connection.rollback()
    assert rows(other) == before_rows
    assert clips(other) == before_clips
    assert not (other.folder / "restoring").exists()


KILLED = """
    import os, sys
    from pathlib import Path
    from webapp.notebook.opening import open_notebook
    from webapp.notebook.safekeeping import restoring
    from webapp.notebook.store import clips

    archive = Path(sys.argv[1])

    def die(*_, **__):
        os._exit(9)

    def restore(folder, where):
        notebook = open_notebook(Path(folder))
        if where == "unpacking":
            restoring.restore_backup(notebook, archive, report=die)
        elif where == "before the clips":
            clips.ClipStore.put_back = die
        elif where == "before the change":
            restoring._load = die
        else:
            clips.ClipStore.set_aside = die
        restoring.restore_backup(notebook, archive)

    for folder, where in zip(sys.argv[2::2], sys.argv[3::2], strict=True):
        process = os.fork()
        if process == 0:
            restore(folder, where)
            os._exit(0)
        print(os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]))
"""
KILLED_AT = ("unpacking", "before the clips", "before the change", "after the change")


def test_killed_anywhere_the_old_or_the_new_notebook_is_whole(
    filled: tuple[Notebook, Filled], archive: Path, other: Notebook, tmp_path: Path
) -> None:
    lone = other.clips.folder / "0123.wav"
    lone.write_bytes(b"of the other notebook")
    settle(lone)
    old, new = rows(other), rows(filled[0])
    other.close()
    copies = {where: tmp_path / where for where in KILLED_AT}
    for copy in copies.values():
        shutil.copytree(other.folder, copy)
    words = [str(word) for where, copy in copies.items() for word in (copy, where)]
    ended = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(KILLED), archive, *words],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert ended.stdout.split() == ["9"] * len(KILLED_AT), ended.stderr
    for where, copy in copies.items():
        with closing(open_notebook(copy)) as again:
            assert rows(again) == (new if where == "after the change" else old), where
            kept = again.clips.folder / lone.name
            assert kept.read_bytes() == b"of the other notebook", where
            report = check_clips(again)
            assert (report.missing, report.altered) == ((), ()), where
            # and the next time it works
            restore_backup(again, archive)
            assert rows(again) == new, where
            assert clips(again) == clips(filled[0]), where


def test_the_name_of_a_backup_tells_its_day() -> None:
    assert dated_name().startswith("quartervent-20")
    assert dated_name().endswith(".zip")
