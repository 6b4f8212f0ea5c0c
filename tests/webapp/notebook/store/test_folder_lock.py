"""One folder, one server: the lock names the other one, and ends with the process."""

import subprocess
import sys
from pathlib import Path

import pytest

from webapp.notebook.store.errors import FolderInUse
from webapp.notebook.store.folder_lock import HOLDER_FILE, hold_folder

HOLD = """
import sys
from pathlib import Path
from webapp.notebook.store.folder_lock import hold_folder
with hold_folder(Path(sys.argv[1]), "serve") as held:
    held.tell(what="serve", address="http://127.0.0.1:8765/")
    print("held", flush=True)
    sys.stdin.read()
"""


def start_holder(folder: Path) -> subprocess.Popen[str]:
    """Hold the folder in a process of its own."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    return holder


def test_a_second_one_is_told_where_the_first_answers(tmp_path: Path) -> None:
    holder = start_holder(tmp_path)
    try:
        with (
            pytest.raises(FolderInUse, match=r"open already at http://127\.0\.0\.1:8765/"),
            hold_folder(tmp_path, "restore"),
        ):
            pytest.fail("both hold the folder")
    finally:
        holder.communicate()
    with hold_folder(tmp_path, "restore"):
        assert (tmp_path / HOLDER_FILE).is_file()
    assert not (tmp_path / HOLDER_FILE).exists()


def test_a_killed_holder_holds_nothing(tmp_path: Path) -> None:
    holder = start_holder(tmp_path)
    holder.kill()
    holder.wait()
    holder.communicate()
    with hold_folder(tmp_path, "serve"):
        pass


def test_a_command_at_work_is_named(tmp_path: Path) -> None:
    with (
        hold_folder(tmp_path, "remeasure"),
        pytest.raises(FolderInUse, match="`quartervent remeasure` is at work"),
        hold_folder(tmp_path, "serve"),
    ):
        pytest.fail("both hold the folder")
