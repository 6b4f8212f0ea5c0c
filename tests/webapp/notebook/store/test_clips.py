"""The clip store: no half-saved evidence, nothing outside the folder, nothing rewritten.

Each step that can be cut off is cut off here by an exception in its place, as a power cut would.
"""

import hashlib
import os
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from tests.webapp.logging_rows import TakeMaker, attach
from tests.webapp.tones import silent_wav
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store import clips
from webapp.notebook.store.clips import ClipStore
from webapp.notebook.store.errors import ClipMissing, ClipRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Take
from webapp.notebook.takes import takes
from webapp.notebook.takes.incoming import measure_staged


class PowerCut(Exception):
    """Stands for a process that ends at this step."""


def cut(*_: object, **__: object) -> None:
    raise PowerCut


@pytest.fixture
def store(tmp_path: Path) -> ClipStore:
    """An empty store."""
    made = ClipStore(tmp_path / "clips")
    made.prepare()
    return made


def staged_files(notebook: Notebook) -> list[Path]:
    """What lies in the staging folder."""
    return list((notebook.clips.folder / "staging").iterdir())


def rows_of(notebook: Notebook) -> set[str]:
    """The clip names that have a row."""
    with notebook.database.reading() as session:
        return set(session.scalars(select(Take.clip_name)))


def cut_while_writing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hashlib, "sha256", cut)


def cut_at_the_first_flush(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", cut)


def cut_while_measuring(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(takes, "measure_staged", cut)


def cut_at_the_rename(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "rename", cut)


def cut_before_the_folder_is_flushed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clips, "_flush_folder", cut)


def cut_at_the_insert(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Session, "add", cut)


def cut_while_pooling(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(takes, "refresh_evidence", cut)


def cut_at_the_commit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sqlalchemy.engine.default.DefaultDialect.do_commit", cut)


BEFORE_THE_RENAME = (
    cut_while_writing,
    cut_at_the_first_flush,
    cut_while_measuring,
    cut_at_the_rename,
)
AFTER_THE_RENAME = (
    cut_before_the_folder_is_flushed,
    cut_at_the_insert,
    cut_while_pooling,
    cut_at_the_commit,
)


@pytest.mark.parametrize("cut_off", BEFORE_THE_RENAME + AFTER_THE_RENAME)
def test_cut_off_at_any_step_there_is_never_a_row_without_its_clip(
    notebook: Notebook,
    fingering: int,
    monkeypatch: pytest.MonkeyPatch,
    cut_off: Callable[[pytest.MonkeyPatch], None],
) -> None:
    with monkeypatch.context() as patched:
        cut_off(patched)
        with pytest.raises(PowerCut):
            attach(notebook, fingering, silent_wav(0.4))
    report = check_clips(notebook)
    assert rows_of(notebook) == set()
    assert (report.checked, report.missing, report.altered) == (0, (), ())
    assert len(report.orphans) == (cut_off in AFTER_THE_RENAME)
    assert staged_files(notebook) == []
    # The player tries again, and it works.
    attach(notebook, fingering, silent_wav(0.4))
    assert check_clips(notebook).checked == 1


def test_a_clip_lies_complete_in_its_place_before_its_row_is_written(
    notebook: Notebook, fingering: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    original_flush, original_rename = os.fsync, Path.rename

    def note_flush(handle: int) -> None:
        steps.append("flush")
        original_flush(handle)

    def note_rename(self: Path, target: Path) -> Path:
        steps.append("rename")
        return original_rename(self, target)

    def note_rows(*_: object) -> int:
        steps.append("rows")
        return 1

    monkeypatch.setattr(os, "fsync", note_flush)
    monkeypatch.setattr(Path, "rename", note_rename)
    monkeypatch.setattr(takes, "_keep_rows", note_rows)
    attach(notebook, fingering, silent_wav(0.4))
    assert steps == ["flush", "rename", "flush", "rows"]


def test_what_an_ended_process_left_in_staging_goes_at_the_next_start(notebook: Notebook) -> None:
    old = notebook.clips.folder / "staging" / "old"
    young = notebook.clips.folder / "staging" / "young"
    old.write_bytes(b"half a clip")
    young.write_bytes(b"a clip that another process is receiving")
    long_ago = time.time() - clips.ABANDONED_AFTER_S - 1
    os.utime(old, (long_ago, long_ago))
    open_notebook(notebook.folder).close()
    assert staged_files(notebook) == [young]


def test_a_fingering_that_goes_to_the_bin_meanwhile_leaves_no_clip_behind(
    notebook: Notebook, fingering: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    original = measure_staged

    def measure_and_bin(*given: Any) -> object:
        put_in_bin(notebook, "fingering", fingering)
        return original(*given)

    monkeypatch.setattr(takes, "measure_staged", measure_and_bin)
    with pytest.raises(NotInNotebook, match="lies in the bin"):
        attach(notebook, fingering, silent_wav(0.4))
    assert check_clips(notebook).is_sound
    assert notebook.clips.names() == frozenset()


def test_the_hash_is_of_the_bytes_that_were_sent(store: ClipStore) -> None:
    sound = silent_wav(0.3)
    with store.staged(BytesIO(sound)) as staged:
        assert staged.sha256 == hashlib.sha256(sound).hexdigest()
        assert staged.byte_count == len(sound)
        name = store.keep(staged, "wav")
    assert store.find(name).read_bytes() == sound
    assert store.hash(name) == hashlib.sha256(sound).hexdigest()


def test_an_empty_upload_is_refused_and_leaves_nothing(store: ClipStore) -> None:
    with pytest.raises(ClipRefused, match="empty"), store.staged(BytesIO(b"")):
        pytest.fail("an empty clip was staged")
    assert list((store.folder / "staging").iterdir()) == []


def test_names_never_meet(store: ClipStore) -> None:
    names = set()
    for number in range(20):
        with store.staged(BytesIO(bytes([number]))) as staged:
            names.add(store.keep(staged, "wav"))
    assert store.names() == names
    assert len(names) == 20


@pytest.mark.parametrize(
    "name",
    [
        "../notebook.sqlite3",
        "../../etc/passwd",
        "/etc/passwd",
        "staging/../../x",
        "a/b.wav",
        "..",
        "",
    ],
)
def test_a_name_that_leads_out_of_the_store_is_not_opened(store: ClipStore, name: str) -> None:
    with pytest.raises(ClipMissing):
        store.find(name)


@pytest.mark.parametrize("place", ["../secret", "staging/secret", "secret"])
def test_a_link_is_not_followed_wherever_it_leads(store: ClipStore, place: str) -> None:
    (store.folder / place).write_text("secret")
    (store.folder / "link.wav").symlink_to(store.folder / place)
    with pytest.raises(ClipMissing, match="outside"):
        store.find("link.wav")
    assert "link.wav" not in store.names()


def test_a_clip_that_is_not_there_says_what_to_do(store: ClipStore) -> None:
    with pytest.raises(ClipMissing, match="quartervent check"):
        store.find("0" * 32 + ".wav")


def test_check_names_missing_altered_and_left_over_clips(
    notebook: Notebook, fingering: int, take_maker: TakeMaker
) -> None:
    for _ in range(4):
        take_maker(notebook, fingering, 466.0)
    assert check_clips(notebook).is_sound
    missing, altered, linked, _ = sorted(rows_of(notebook))
    folder = notebook.clips.folder
    (folder / missing).unlink()
    (folder / altered).write_bytes((folder / altered).read_bytes()[:-1] + b"x")
    (folder / linked).rename(folder / "moved.wav")
    (folder / linked).symlink_to(folder / "moved.wav")
    report = check_clips(notebook)
    assert report.checked == 4
    assert report.missing == tuple(sorted((missing, linked)))
    assert report.altered == (altered,)
    assert report.orphans == ("moved.wav",)
    assert not report.is_sound
