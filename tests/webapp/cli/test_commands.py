"""The command line, as far as it needs no server."""

import importlib
import json
import os
import sqlite3
from contextlib import closing
from io import BytesIO
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from analysis.pitch import NoteNames
from tests.webapp.finder_fakes import FakeFinder
from tests.webapp.logging_rows import Filled, add_clarinet
from tests.webapp.tones import encoded_tone, noise_wav, silent_wav, tone_wav
from webapp.cli import COMMANDS, main, open_command
from webapp.notebook import Notebook
from webapp.services.preferences import Writing, change_preferences


def run(*arguments: str, folder: Path | None = None) -> Result:
    """Run a command on a notebook."""
    env = {"QUARTERVENT_INSTANCE": str(folder)} if folder else {}
    return CliRunner().invoke(main, arguments, env=env)


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


# --- analyse


FIELDS = {
    "file", "verdict", "f0_hz", "f0_uncertainty_cents", "target_hz", "offset_cents",
    "spread_cents", "drift_cents_per_s", "centroid_hz", "brightness_partials", "duration_s",
    "steady_from_s", "steady_to_s", "warnings",
}  # fmt: skip
# Written D5 -50 on a B-flat soprano sounds 250 cents above A4.
TARGET_HZ = 440 * 2 ** (250 / 1200)


@pytest.fixture
def recordings(tmp_path: Path) -> dict[str, str]:
    """Files of every sort."""
    sounds = {
        "note.wav": tone_wav(TARGET_HZ * 2 ** (12 / 1200)),
        "note.ogg": encoded_tone(TARGET_HZ, "ogg"),
        "silence.wav": silent_wav(),
        "noise.wav": noise_wav(),
        "words.wav": b"just words",
        "empty.wav": b"",
    }
    for name, sound in sounds.items():
        (tmp_path / name).write_bytes(sound)
    return {name: str(tmp_path / name) for name in sounds}


def lines_of(result: Result) -> dict[str, dict[str, object]]:
    """The JSON lines by file name."""
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    return {Path(row["file"]).name: row for row in rows}


def test_analyse_writes_one_json_object_a_line_with_every_field(
    recordings: dict[str, str],
) -> None:
    names = ("note.wav", "note.ogg", "silence.wav")
    result = run("analyse", *[recordings[name] for name in names], "--target", "D5 -50", "--json")
    assert result.exit_code == 0
    rows = lines_of(result)
    assert list(rows) == list(names)
    assert all(set(row) >= FIELDS for row in rows.values())
    note = rows["note.wav"]
    assert note["verdict"] == "ok"
    assert note["target_hz"] == pytest.approx(TARGET_HZ)
    assert note["offset_cents"] == pytest.approx(12.0, abs=0.1)
    assert note["f0_hz"] == pytest.approx(TARGET_HZ * 2 ** (12 / 1200), rel=1e-4)
    assert rows["note.ogg"]["offset_cents"] == pytest.approx(0.0, abs=0.5)
    assert rows["silence.wav"]["verdict"] == "silence"
    assert rows["silence.wav"]["f0_hz"] is rows["silence.wav"]["offset_cents"] is None


def test_one_bad_file_is_named_the_others_are_done_and_the_exit_status_is_1(
    recordings: dict[str, str],
) -> None:
    files = [
        recordings["words.wav"],
        "no-such-file.wav",
        recordings["empty.wav"],
        recordings["note.wav"],
    ]
    result = run("analyse", *files, "--json")
    assert result.exit_code == 1
    rows = lines_of(result)
    for name in ("words.wav", "no-such-file.wav", "empty.wav"):
        assert rows[name]["verdict"] == "unreadable"
        assert set(rows[name]) >= FIELDS
        assert rows[name]["warnings"], "the reason"
    assert rows["note.wav"]["verdict"] == "ok"
    table = run("analyse", *files)
    assert table.exit_code == 1
    assert "There is no such file." in table.output
    assert "something else" in table.output
    assert "Traceback" not in table.output


def test_the_table_is_for_people(recordings: dict[str, str]) -> None:
    result = run("analyse", recordings["note.wav"], recordings["noise.wav"], "--target", "D5 -50")
    assert result.exit_code == 0
    head, first, *_ = result.output.splitlines()
    assert head.split() == ["verdict", "Hz", "offset", "spread", "drift", "brightness", "file"]
    assert "+12.0 ± 0.1" in first
    # Columns stand under their heads, whatever the length of a file's name.
    assert head.index("offset") + len("offset") == first.index("± 0.1") + len("± 0.1")
    assert first.endswith(recordings["note.wav"])
    assert "move closer to the microphone" in result.output


def test_without_a_target_there_is_no_offset(recordings: dict[str, str]) -> None:
    (row,) = lines_of(run("analyse", recordings["note.wav"], "--json")).values()
    assert row["f0_hz"] is not None
    assert row["target_hz"] is row["offset_cents"] is None


@pytest.mark.parametrize(
    ("options", "target_hz"),
    [
        # Written C5 sounds C5, B flat 4, A4, and B flat 3 on these (common practice, from memory).
        (["--instrument", "c soprano"], 440 * 2 ** (300 / 1200)),
        (["--instrument", "b-flat soprano"], 440 * 2 ** (100 / 1200)),
        (["--instrument", "A soprano"], 440.0),
        (["--instrument", "bass"], 440 * 2 ** (-1100 / 1200)),
        (["--instrument", "a soprano", "--tuning", "442"], 442.0),
    ],
)
def test_the_target_is_written_pitch_for_the_instrument(
    recordings: dict[str, str], options: list[str], target_hz: float
) -> None:
    result = run("analyse", recordings["silence.wav"], "--target", "C5", *options, "--json")
    (row,) = lines_of(result).values()
    assert row["target_hz"] == pytest.approx(target_hz)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--target", "nonsense"], "nonsense"),
        (["--target", "D"], "Which is meant"),
        (["--instrument", "kazoo"], "kazoo"),
        (["--tuning", "300"], "390"),
        (["--tuning", "high"], "high"),
        (["--what"], "--what"),
    ],
)
def test_a_call_that_cannot_be_understood_ends_with_2_before_any_file(
    recordings: dict[str, str], options: list[str], words: str
) -> None:
    result = run("analyse", recordings["note.wav"], *options)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_analyse_without_files_explains_itself() -> None:
    assert run("analyse").exit_code == 2


def test_a_file_name_that_is_no_text_is_shown_as_well_as_can_be(tmp_path: Path) -> None:
    path = os.fsencode(tmp_path) + b"/note-\xff.wav"
    try:
        Path(os.fsdecode(path)).write_bytes(silent_wav(0.5))
    except OSError:
        pytest.skip("this file system takes text only")
    assert run("analyse", os.fsdecode(path)).exit_code == 0
    assert run("analyse", os.fsdecode(path), "--json").exit_code == 0


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
    ("options", "words"),
    [
        ([], "Say with --instrument which one"),
        (["--instrument", "nothing like it"], "“Invented B-flat”, “Invented bass”"),
        (["--instrument", "B-flat", "--from", "nonsense"], "nonsense"),
        (["--instrument", "B-flat", "--from", "D5", "--to", "C5"], "upside down|below"),
    ],
)
def test_chart_says_what_is_missing(
    own: tuple[Path, Filled], tmp_path: Path, options: list[str], words: str
) -> None:
    out = tmp_path / "chart.pdf"
    result = run("chart", *options, "--out", str(out), folder=own[0])
    assert result.exit_code == 1
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
    assert result.exit_code == 1
    assert "no instrument yet" in result.output


# --- search


def test_search_lists_what_sounds_near(own: tuple[Path, Filled]) -> None:
    result = run("search", "B4 +35", folder=own[0])
    assert result.exit_code == 0
    first = result.output.splitlines()[0]
    assert first.split()[0] in ("0.0", "+0.0", "−0.0")
    assert "T R 123 | 123 | right F#" in first
    assert "Invented B-flat (1 take)" in first


def test_search_shows_the_nearest_where_there_is_nothing(own: tuple[Path, Filled]) -> None:
    result = run("search", "C5", "--within", "5", folder=own[0])
    assert result.exit_code == 0
    head, *nearest = result.output.splitlines()
    assert head == "Nothing yet within 5 cents. The nearest:"
    assert nearest


def test_search_says_that_nothing_is_near(own: tuple[Path, Filled]) -> None:
    result = run("search", "E6", "--within", "5", folder=own[0])
    assert result.exit_code == 0
    assert result.output == "Nothing yet within 5 cents, nor within three quarter tones.\n"


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
    assert "5 recordings checked." in result.output
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
