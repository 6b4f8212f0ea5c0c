"""`quartervent backup` and `quartervent restore`."""

from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.webapp.logging_rows import Filled, add_clarinet, log
from tests.webapp.snapshots import snapshot
from webapp.cli import main
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import backup
from webapp.notebook.store.clips import ClipStore
from webapp.notebook.store.notebook import Notebook


@pytest.fixture
def run(filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(filled[0].folder))
    return CliRunner()


def test_a_backup_goes_into_a_file_and_comes_back_elsewhere(
    run: CliRunner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.zip"
    made = run.invoke(main, ["backup", str(path)])
    assert made.exit_code == 0, made.output
    assert "recordings and the database are in" in made.output
    assert path.is_file()
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path / "new"))
    restored = run.invoke(main, ["restore", str(path)])
    assert restored.exit_code == 0, restored.output
    assert "Restored: the notebook of 20" in restored.output
    assert "kept in" not in restored.output
    with closing(open_notebook(tmp_path / "new")) as new:
        assert {each.instrument.name for each in list_instruments(new)} == {
            "Invented B-flat", "Invented bass",
        }  # fmt: skip
    assert run.invoke(main, ["check"]).exit_code == 0


def test_a_folder_gets_a_name_with_the_date(run: CliRunner, tmp_path: Path) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    assert run.invoke(main, ["backup", str(folder)]).exit_code == 0
    (path,) = folder.iterdir()
    assert path.name.startswith("quartervent-20")


def test_what_was_there_is_kept_and_named(
    run: CliRunner, filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    path = tmp_path / "mine.zip"
    run.invoke(main, ["backup", str(path)])
    later = log(filled[0], add_clarinet(filled[0], "bought later"), "E5", "T R 123 | 12-")
    assert later
    result = run.invoke(main, ["restore", str(path)])
    assert result.exit_code == 0, result.output
    assert "What was here before is kept in" in result.output
    assert "bought later" not in {each.instrument.name for each in list_instruments(filled[0])}


@pytest.mark.parametrize(
    ("name", "words"),
    [("there.zip", "Choose another name"), ("nowhere/mine.zip", "cannot be written")],
)
def test_a_place_that_cannot_be_written_is_said(
    run: CliRunner, tmp_path: Path, name: str, words: str
) -> None:
    (tmp_path / "there.zip").write_bytes(b"older")
    result = run.invoke(main, ["backup", str(tmp_path / name)])
    assert result.exit_code == 1
    assert words in result.output
    assert (tmp_path / "there.zip").read_bytes() == b"older"


def test_a_missing_recording_is_named(
    run: CliRunner, filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    gone = sorted(filled[0].clips.names())[0]
    filled[0].clips.remove([gone])
    made = run.invoke(main, ["backup", str(tmp_path / "mine.zip")])
    assert made.exit_code == 0
    assert f"{gone}: missing from the notebook itself" in made.output
    restored = run.invoke(main, ["restore", str(tmp_path / "mine.zip")])
    assert f"{gone}: was missing already" in restored.output


def test_what_is_no_backup_changes_nothing(
    run: CliRunner, filled: tuple[Notebook, Filled], tmp_path: Path
) -> None:
    letter = tmp_path / "letter.zip"
    letter.write_bytes(b"Dear reader")
    before = snapshot(filled[0])
    result = run.invoke(main, ["restore", str(letter)])
    assert result.exit_code == 1
    assert "cannot be read as a backup" in result.output
    assert snapshot(filled[0]) == before
    assert run.invoke(main, ["restore", str(tmp_path / "none.zip")]).exit_code == 2


def test_a_database_that_lies_elsewhere_is_packed_all_the_same(
    run: CliRunner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QUARTERVENT_DATABASE", f"sqlite:///{tmp_path}/own.sqlite3")
    assert run.invoke(main, ["backup", str(tmp_path / "mine.zip")]).exit_code == 0


def interrupt(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


@pytest.mark.parametrize("step", ["_pack_file", "copy_database"])
def test_ctrl_c_says_one_sentence_and_leaves_nothing_behind(
    run: CliRunner,
    filled: tuple[Notebook, Filled],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    step: str,
) -> None:
    before = snapshot(filled[0])
    monkeypatch.setattr(backup, step, interrupt)
    stick = tmp_path / "stick"
    stick.mkdir()
    result = run.invoke(main, ["backup", str(stick)])
    assert result.exit_code == 130
    assert result.output.strip().endswith(
        "Stopped: no backup was written, and nothing is left of it."
    )
    assert list(stick.iterdir()) == []
    assert snapshot(filled[0]) == before


def test_a_check_that_is_stopped_says_so(run: CliRunner, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ClipStore, "hash", interrupt)
    result = run.invoke(main, ["check"])
    assert result.exit_code == 130
    assert result.output.strip().endswith(
        "Stopped: not everything was checked. Nothing was changed."
    )
