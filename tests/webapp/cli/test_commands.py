"""The command line, as far as it needs no server."""

import importlib
import os
import sqlite3
from contextlib import closing
from io import BytesIO
from pathlib import Path

import click
import pytest
from pypdf import PdfReader

from analysis.pitch import NoteNames
from tests.webapp.cli.running import run
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.cli import COMMANDS, open_command
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.store.notebook import Notebook


@pytest.fixture
def own(filled: tuple[Notebook, Filled]) -> tuple[Path, Filled]:
    """The folder of a filled notebook, closed."""
    filled[0].close()
    return filled[0].folder, filled[1]


def test_help_lists_every_command_with_a_sentence() -> None:
    result = run("--help")
    assert result.exit_code == 0
    for name in ("serve", "analyse", "chart", "search", "check"):
        (line,) = [each for each in result.output.splitlines() if each.split()[:1] == [name]]
        assert len(line.split()) > 4
    assert "QUARTERVENT_INSTANCE" in result.output


def test_the_libraries_under_numpy_get_one_thread_unless_the_player_says_otherwise(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    assert run("layouts").exit_code == 0
    assert os.environ.pop("OPENBLAS_NUM_THREADS") == "1"
    assert os.environ["OMP_NUM_THREADS"] == "3"


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_and_option_says_what_it_is(name: str) -> None:
    assert run(name, "--help").exit_code == 0
    command = open_command(name)
    assert command.help
    for option in command.params:
        if isinstance(option, click.Option) and not isinstance(option.type, click.Choice):
            assert option.help or option.show_default, f"{name} {option.opts}"


# --- chart


def test_chart_writes_a_pdf(own: tuple[Path, Filled], tmp_path: Path) -> None:
    out = tmp_path / "chart.pdf"
    result = run(
        "chart", "--instrument", "b-flat", "--title", "For the stand", "--from", "C5", "--to",
        "D5", "--paper", "letter", "--out", str(out), folder=own[0],
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert str(out) in result.output
    reader = PdfReader(BytesIO(out.read_bytes()))
    assert float(reader.pages[0].mediabox.width) == pytest.approx(612)  # 8.5 inches
    assert "For the stand" in reader.pages[0].extract_text()


def test_a_chart_with_predictions_says_which_they_are(
    own: tuple[Path, Filled], tmp_path: Path, fake_finder: FakeFinder
) -> None:
    out = tmp_path / "chart.pdf"
    asked = ("chart", "--instrument", "b-flat", "--from", "E5", "--to", "G5", "--out", str(out))
    assert run(*asked, folder=own[0]).exit_code == 0
    assert fake_finder.fits == []
    result = run(*asked, "--predictions", "quarter", folder=own[0])
    assert result.exit_code == 0, result.output
    assert "only predicted" in PdfReader(BytesIO(out.read_bytes())).pages[0].extract_text()
    fake_finder.is_unavailable = True
    refused = run(*asked, "--predictions", "eighth", folder=own[0])
    assert refused.exit_code == 1
    assert "says the fake" in refused.output


@pytest.mark.parametrize(
    ("options", "words", "status"),
    [
        ([], "Say with --instrument which one", 2),
        (["--instrument", "nothing like it"], "“Invented B-flat”, “Invented bass”", 2),
        (["--instrument", "B-flat", "--from", "nonsense"], "nonsense", 1),
        (["--instrument", "B-flat", "--from", "D5", "--to", "C5"], "upside down|below", 1),
    ],
)
def test_chart_says_what_is_missing(
    own: tuple[Path, Filled], tmp_path: Path, options: list[str], words: str, status: int
) -> None:
    out = tmp_path / "chart.pdf"
    result = run("chart", *options, "--out", str(out), folder=own[0])
    assert result.exit_code == status
    assert any(each in result.output for each in words.split("|"))
    assert not out.exists()


def test_chart_names_a_place_it_cannot_write_to(own: tuple[Path, Filled], tmp_path: Path) -> None:
    out = tmp_path / "no-such-folder" / "chart.pdf"
    result = run("chart", "--instrument", "bass", "--out", str(out), folder=own[0])
    assert result.exit_code == 1
    assert "cannot be written" in result.output


def test_an_exact_name_wins_over_longer_ones(notebook: Notebook, tmp_path: Path) -> None:
    add_clarinet(notebook, "B-flat")
    add_clarinet(notebook, "B-flat with the long barrel")
    out = tmp_path / "chart.pdf"
    result = run("chart", "--instrument", "B-flat", "--out", str(out), folder=notebook.folder)
    assert result.exit_code == 0, result.output


def test_chart_of_an_empty_notebook_says_how_to_begin(notebook: Notebook, tmp_path: Path) -> None:
    result = run("chart", "--out", str(tmp_path / "x.pdf"), folder=notebook.folder)
    assert result.exit_code == 2
    assert "no instrument yet" in result.output


# --- search


def test_search_lists_what_sounds_near(own: tuple[Path, Filled]) -> None:
    result = run("search", "B4 +35", folder=own[0])
    assert result.exit_code == 0
    first = result.output.splitlines()[0]
    assert first.split()[0] in ("0.0", "+0.0", "−0.0")
    assert "T R 123 | 123 | right F#" in first
    assert "on Invented B-flat (in tune; 1 take)" in first


def test_search_shows_the_nearest_where_there_is_nothing(own: tuple[Path, Filled]) -> None:
    result = run("search", "C5", "--within", "5", folder=own[0])
    assert result.exit_code == 0
    head, *nearest = result.output.splitlines()
    assert head == "Nothing yet within 5 cents. The nearest:"
    assert nearest


def test_search_says_that_nothing_is_near(own: tuple[Path, Filled]) -> None:
    result = run("search", "E6", "--within", "5", folder=own[0])
    assert result.exit_code == 0
    assert result.output == "Nothing yet within 5 cents, and nothing near.\n"


def test_search_says_when_there_are_more(
    own: tuple[Path, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importlib.import_module("webapp.cli.search"), "LINES", 2)
    lines = run("search", "B4 +35", "--within", "200", folder=own[0]).output.splitlines()
    assert len(lines) == 3
    assert lines[-1].startswith("These are 2 of ")


def test_search_reads_the_players_note_names(filled: tuple[Notebook, Filled]) -> None:
    change_preferences(filled[0], Writing(names=NoteNames.GERMAN))
    assert run("search", "H4 +35", folder=filled[0].folder).exit_code == 0


@pytest.mark.parametrize("target", ["nonsense", "D"])
def test_a_target_that_cannot_be_read_ends_with_2(own: tuple[Path, Filled], target: str) -> None:
    result = run("search", target, folder=own[0])
    assert result.exit_code == 2
    assert "Error" in result.output


# --- check


def test_check_finds_everything_in_order(own: tuple[Path, Filled]) -> None:
    result = run("check", folder=own[0])
    assert result.exit_code == 0
    assert "9 recordings checked." in result.output
    assert "All is as it was recorded." in result.output


def test_check_names_what_is_wrong_and_ends_with_1(own: tuple[Path, Filled]) -> None:
    clips = sorted(path for path in (own[0] / "clips").iterdir() if path.is_file())
    clips[0].unlink()
    clips[1].write_bytes(b"something else")
    (own[0] / "clips" / "stray.wav").write_bytes(b"x")
    result = run("check", folder=own[0])
    assert result.exit_code == 1
    assert f"{clips[0].name}: missing" in result.output
    assert f"{clips[1].name}: altered" in result.output
    assert "stray.wav: belongs to nothing" in result.output
    assert "All is as it was" not in result.output
    assert "check --set-aside" in result.output
    assert (own[0] / "clips" / "stray.wav").exists()


def test_check_moves_what_belongs_to_nothing_only_when_asked(own: tuple[Path, Filled]) -> None:
    stray = own[0] / "clips" / "stray.wav"
    stray.write_bytes(b"x")
    young = run("check", "--set-aside", folder=own[0])
    assert young.exit_code == 1
    assert "stray.wav: left where it is; it came within the last hour" in young.output
    assert stray.exists()
    os.utime(stray, (0, 0))
    result = run("check", "--set-aside", folder=own[0])
    assert result.exit_code == 0, result.output
    assert "stray.wav: belongs to nothing" in result.output
    (moved,) = (own[0] / "clips-set-aside").glob("*/stray.wav")
    assert f"They lie in {moved.parent}" in result.output
    assert not stray.exists()
    assert run("check", folder=own[0]).exit_code == 0


# --- a notebook that cannot be opened


@pytest.mark.parametrize("command", [["check"], ["search", "A4"]])
def test_a_notebook_of_a_later_version_is_one_sentence(
    own: tuple[Path, Filled], command: list[str]
) -> None:
    with closing(sqlite3.connect(own[0] / "notebook.sqlite3")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    result = run(*command, folder=own[0])
    assert result.exit_code == 1
    assert "newer Quartervent" in result.output
    assert "Traceback" not in result.output


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    result = run("check", folder=tmp_path / "file" / "notebook")
    assert result.exit_code == 1
    assert result.output.startswith("Error: ")


def test_a_damaged_database_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "notebook.sqlite3").write_bytes(b"this is no database at all" * 100)
    result = run("check", folder=tmp_path)
    assert result.exit_code == 1
    assert result.output.startswith("Error: ")
    assert "Traceback" not in result.output
