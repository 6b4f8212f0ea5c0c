"""`quartervent export` and `quartervent import`, from one folder to another."""

import shutil
from pathlib import Path

import pytest

from tests.webapp.cli.running import run
from tests.webapp.logging_rows import Filled


@pytest.fixture
def folders(
    filled_folder: tuple[Path, Filled], empty_folder: Path, tmp_path: Path
) -> tuple[Path, Path]:
    """A filled notebook, and an empty one."""
    for name, source in (("one", filled_folder[0]), ("other", empty_folder)):
        shutil.copytree(source, tmp_path / name)
    return tmp_path / "one", tmp_path / "other"


def test_out_of_one_notebook_and_into_another(folders: tuple[Path, Path], tmp_path: Path) -> None:
    one, other = folders
    file = tmp_path / "out.zip"
    words = ("--instrument", "Invented B-flat", "--name", "A. Player", "--list", "For you")
    done = run("export", str(file), *words, folder=one)
    assert (done.exit_code, file.is_file()) == (0, True)
    assert run("export", str(file), *words, folder=one).exit_code == 2
    looked = run("import", str(file), folder=other)
    assert "Nothing is kept yet" in looked.output
    assert "list “For you”" in looked.output
    assert "Kept, as theirs." in run("import", str(file), "--keep", folder=other).output
    assert "Nothing changes" in run("import", str(file), "--keep", folder=other).output


def test_what_is_no_archive_is_one_sentence(folders: tuple[Path, Path], tmp_path: Path) -> None:
    file = tmp_path / "x.zip"
    file.write_bytes(b"nothing")
    refused = run("import", str(file), folder=folders[1])
    assert refused.exit_code == 2
    assert refused.output.count("\n") == 1
