"""`quartervent layouts`."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner

from analysis.keywork import layout_ids, load_layout, ordinary_fingerings
from analysis.pitch import KINDS
from tests.webapp.snapshots import files_of
from webapp.cli import main
from webapp.notebook.instruments.layouts import add_layout, propose_layout, remove_layout
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.own_folder import INSTANCE_VARIABLE


def run(*arguments: str) -> str:
    result = CliRunner().invoke(main, ["layouts", *arguments])
    assert result.exit_code == 0
    return result.stdout


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The player's notebook, closed: one layout of its own, and one that lies in the bin."""
    folder = tmp_path / "mine, 100% #1"
    monkeypatch.setenv(INSTANCE_VARIABLE, str(folder))
    with closing(open_notebook(folder)) as notebook:
        remove_layout(notebook, add_layout(notebook, propose_layout(notebook, "bass-low-c")))
        add_layout(notebook, propose_layout(notebook, "soprano-german"))
    return folder


def test_every_layout_is_listed_with_its_facts() -> None:
    blocks = run().split("\n\n")
    assert len(blocks) == len(layout_ids())
    for block, layout in zip(blocks, map(load_layout, layout_ids()), strict=True):
        assert block.startswith(f"{layout.id}: {layout.name}\n")
        assert layout.provenance in block
        assert f"{len(ordinary_fingerings(layout))} fingerings" in block
        assert all(KINDS[each].name in block for each in layout.kinds)
        assert all(f"{key.name} ({key.token})" in block for key in layout.keys)


def test_the_lowest_note_of_the_bass_to_low_c_is_written_c3() -> None:
    # common practice, from memory: treble notation, a tenth below the soprano's low E
    (block,) = [each for each in run().split("\n\n") if each.startswith("bass-low-c:")]
    assert "lowest      C3, written" in block


def test_json_has_the_same_for_programs() -> None:
    found = {each["id"]: each for each in json.loads(run("--json"))}
    assert set(found) == set(layout_ids())
    for layout in map(load_layout, layout_ids()):
        row = found[layout.id]
        assert row["name"] == layout.name
        assert row["version"] == layout.version
        assert row["provenance"] == layout.provenance
        assert row["lowest_written"] == layout.lowest.canonical
        assert row["ordinary_fingerings"] == len(ordinary_fingerings(layout))
        assert [each["id"] for each in row["instruments"]] == list(layout.kinds)
        fitted = [each["name"] for each in row["keys"] if each["is_fitted"]]
        assert fitted == [key.name for key in layout.keys]
        assert all(each["typed"] and each["hand"] in ("left", "right") for each in row["keys"])


def test_those_of_the_players_own_come_first_and_those_in_the_bin_do_not(own_folder: Path) -> None:
    before = files_of(own_folder)
    first, *rest = run().split("\n\n")
    assert first.startswith("my-soprano-german: My Soprano, German system (your own)\n")
    assert len(rest) == len(layout_ids())
    own, *shipped = json.loads(run("--json"))
    assert (own["id"], own["is_own"]) == ("my-soprano-german", True)
    assert not any(each["is_own"] for each in shipped)
    assert files_of(own_folder) == before


def test_looking_makes_no_notebook_where_there_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(INSTANCE_VARIABLE, str(tmp_path / "none"))
    assert len(run().split("\n\n")) == len(layout_ids())
    assert not (tmp_path / "none").exists()


def test_a_damaged_notebook_is_said_and_keeps_nobody_from_the_others(own_folder: Path) -> None:
    (own_folder / "notebook.sqlite3").write_bytes(b"no database" * 1000)
    result = CliRunner().invoke(main, ["layouts"])
    assert result.exit_code == 0
    assert len(result.stdout.split("\n\n")) == len(layout_ids())
    assert "Your own layouts can't be read" in result.stderr


def test_a_layout_of_the_players_own_can_be_drawn(own_folder: Path) -> None:
    before = files_of(own_folder)
    out = own_folder.parent / "drawn.svg"
    named = ("--instrument", "b-flat-soprano", "--out", str(out), "--layout")
    result = CliRunner().invoke(main, ["draw", "T 123 | 123", *named, "my-soprano-german"])
    assert result.exit_code == 0, result.output
    assert "on My Soprano, German system" in result.output
    assert out.exists()
    refused = CliRunner().invoke(main, ["draw", "T", *named, "other"])
    assert refused.exit_code == 2
    assert "my-soprano-german" in refused.output
    elsewhere = ("--instrument", "b-flat-bass", *named[2:], "my-soprano-german")
    assert CliRunner().invoke(main, ["draw", "T", *elsewhere]).exit_code == 2
    assert files_of(own_folder) == before


@pytest.mark.parametrize("command", [("suggest", "G5 -50"), ("predict", "T R 123 | ---")])
def test_a_layout_of_the_players_own_is_known_but_its_tube_is_not(
    own_folder: Path, command: tuple[str, str]
) -> None:
    before = files_of(own_folder)
    named = ("--instrument", "b-flat-soprano", "--layout", "my-soprano-german")
    result = CliRunner().invoke(main, [*command, *named])
    assert result.exit_code == 2
    assert "No tube is known for B-flat soprano with the keywork 'my-soprano-german'" in (
        result.output
    )
    assert "choose that keywork if its holes and keys are those of yours" in result.output
    assert "soprano-17-6 or soprano-20-7" in result.output
    assert "bass-low-c" not in result.output
    assert files_of(own_folder) == before


def test_a_notebook_of_another_version_is_left_as_it_is(own_folder: Path) -> None:
    with closing(sqlite3.connect(own_folder / "notebook.sqlite3")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0002'")
        connection.commit()
    before = files_of(own_folder)
    result = CliRunner().invoke(main, ["layouts"])
    assert "Open it once with `quartervent serve`" in result.stderr
    assert files_of(own_folder) == before
