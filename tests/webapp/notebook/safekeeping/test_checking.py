"""Clearing away the clips that belong to nothing, also while a server is at work."""

import os
from pathlib import Path

import pytest

from tests.webapp.logging_rows import Filled, TakeMaker
from webapp.notebook.safekeeping.checking import ASIDE_FOLDER, check_clips, set_orphans_aside
from webapp.notebook.store import clips
from webapp.notebook.store.clips import ClipStore
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import find_clip


def leave_behind(notebook: Notebook, name: str, sound: bytes, *, age_s: float = 7200.0) -> Path:
    """Put a file into the clip store that no row knows, as if it had come some time ago."""
    path = notebook.clips.folder / name
    path.write_bytes(sound)
    then_s = path.stat().st_mtime - age_s
    os.utime(path, (then_s, then_s))
    return path


def test_what_belongs_to_nothing_is_moved_and_nothing_else(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    before = notebook.clips.names()
    stray = leave_behind(notebook, "stray.wav", b"left over")
    done = set_orphans_aside(notebook)
    assert done.moved == ("stray.wav",)
    assert done.too_young == ()
    assert done.folder is not None and done.folder.parent == notebook.folder / ASIDE_FOLDER
    assert not stray.exists()
    assert (done.folder / "stray.wav").read_bytes() == b"left over"
    assert notebook.clips.names() == before
    assert find_clip(notebook, rows.take)[1].is_file()
    assert check_clips(notebook).is_sound


def test_where_nothing_is_left_over_no_folder_is_made(filled: tuple[Notebook, Filled]) -> None:
    done = set_orphans_aside(filled[0])
    assert (done.moved, done.folder, done.too_young) == ((), None, ())
    assert not (filled[0].folder / ASIDE_FOLDER).exists()


def test_a_young_clip_stays_since_its_row_may_be_on_its_way(notebook: Notebook) -> None:
    leave_behind(notebook, "old.wav", b"old", age_s=clips.ABANDONED_AFTER_S + 60)
    young = leave_behind(notebook, "young.wav", b"young", age_s=clips.ABANDONED_AFTER_S - 60)
    done = set_orphans_aside(notebook)
    assert done.moved == ("old.wav",)
    assert done.too_young == ("young.wav",)
    assert young.exists()


@pytest.mark.parametrize("look", [1, 2], ids=["before the rows are read", "after"])
def test_a_take_kept_while_the_clips_are_counted_is_neither_left_over_nor_missing(
    filled: tuple[Notebook, Filled],
    take_maker: TakeMaker,
    monkeypatch: pytest.MonkeyPatch,
    look: int,
) -> None:
    notebook, rows = filled
    names = ClipStore.names
    looks: list[int] = []

    def look_beside_a_server(store: ClipStore) -> frozenset[str]:
        looks.append(1)
        is_late = len(looks) == 2
        if is_late and look == 2:
            take_maker(notebook, rows.child, 500.0)
        found = names(store)
        if not is_late and look == 1:
            take_maker(notebook, rows.child, 500.0)
        return found

    with monkeypatch.context() as patched:
        patched.setattr(ClipStore, "names", look_beside_a_server)
        assert check_clips(notebook).is_sound
    assert len(looks) == 2
