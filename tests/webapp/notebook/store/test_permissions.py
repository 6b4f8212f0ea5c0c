"""A notebook is for its owner's eyes: files 0600 and folders 0700, whatever the umask."""

import os
import stat
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.webapp.logging_rows import add_clarinet, attach, log
from tests.webapp.older_forms import go_back
from tests.webapp.tones import tone_wav
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.checking import set_orphans_aside


@pytest.fixture
def open_umask() -> Iterator[None]:
    """What is made without a mode of its own can be read by everybody."""
    before = os.umask(0o000)
    yield
    os.umask(before)


def test_files_and_folders_are_the_owners(tmp_path: Path, open_umask: None) -> None:
    folder = tmp_path / "notebook"
    with closing(open_notebook(folder)) as notebook:
        clarinet = add_clarinet(notebook)
        fingering = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
        attach(notebook, fingering, tone_wav(508.0))
        lone = notebook.clips.folder / "0123.wav"
        lone.touch(mode=0o600)
        os.utime(lone, (1e9, 1e9))
        assert set_orphans_aside(notebook).moved == ("0123.wav",)
        go_back(notebook, "0006")
    open_notebook(folder).close()
    assert list((folder / "backups").iterdir())
    modes = {
        each.relative_to(tmp_path).as_posix(): stat.S_IMODE(each.stat().st_mode)
        for each in (folder, *folder.rglob("*"))
    }
    wanted = {name: 0o700 if (tmp_path / name).is_dir() else 0o600 for name in modes}
    assert modes == wanted
