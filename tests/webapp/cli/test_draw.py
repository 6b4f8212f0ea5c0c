"""`quartervent draw`: pictures by the ending, and refusals that point at what is wrong."""

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from analysis.keywork import load_layout, write_layout
from webapp.cli import main

SOPRANO = ("--instrument", "b-flat-soprano")
MAGIC = {"svg": b"<svg", "png": b"\x89PNG\r\n\x1a\n", "pdf": b"%PDF"}


def draw(fingering: str, out: Path, *options: str, instrument: tuple[str, str] = SOPRANO) -> Result:
    arguments = ["draw", fingering, *instrument, "--out", str(out), *options]
    return CliRunner().invoke(main, arguments)


@pytest.mark.parametrize("ending", ["svg", "png", "pdf", "PDF"])
def test_the_ending_decides(tmp_path: Path, ending: str) -> None:
    out = tmp_path / f"picture.{ending}"
    result = draw("t r 123, 12-, low e", out)
    assert result.exit_code == 0
    assert "T R 123 | 12- | right E on Soprano, 17 keys and 6 rings" in result.output
    assert out.read_bytes().startswith(MAGIC[ending.lower()])


def test_options_change_the_picture(tmp_path: Path) -> None:
    pictures = {}
    for name, options in {
        "usual": (),
        "reduced": ("--reduced",),
        "mirrored": ("--mirrored",),
        "against": ("--base", "T R 123 | -2-"),
    }.items():
        out = tmp_path / f"{name}.svg"
        assert draw("T R 123 | -2- | right cross", out, *options).exit_code == 0
        pictures[name] = out.read_text("utf-8")
    assert len(set(pictures.values())) == 4
    assert "adds right cross key (opens)" in pictures["against"]
    assert len(pictures["reduced"]) < len(pictures["usual"])
    assert ET.fromstring(pictures["mirrored"]).tag.endswith("svg")


@pytest.mark.parametrize(
    ("fingering", "position"), [("T R 12x | 1--", 6), ("T R 123 | 123 | spoon", 16), ("", 0)]
)
def test_an_unreadable_fingering_exits_2_with_a_caret_under_the_character(
    tmp_path: Path, fingering: str, position: int
) -> None:
    out = tmp_path / "picture.svg"
    result = draw(fingering, out)
    assert result.exit_code == 2
    lines = result.output.splitlines()
    caret = next(number for number, line in enumerate(lines) if line.strip() == "^")
    assert lines[caret].index("^") == 2 + position
    assert lines[caret - 1].rstrip() == f"  {fingering}".rstrip()
    assert f"At character {position + 1}" in result.output
    assert not out.exists()


def test_an_impossible_one_exits_2_with_every_reason(tmp_path: Path) -> None:
    result = draw("1-- | --- | throat A", tmp_path / "picture.svg")
    assert result.exit_code == 2
    assert "left first finger can't hold its hole and the throat A key" in result.output
    assert not (tmp_path / "picture.svg").exists()


def test_a_fault_in_the_base_says_that_it_is_the_base(tmp_path: Path) -> None:
    result = draw("T", tmp_path / "picture.svg", "--base", "T spoon")
    assert result.exit_code == 2
    assert "--base can't be read" in result.output


@pytest.mark.parametrize(
    ("name", "options", "instrument", "words"),
    [
        ("picture.gif", (), SOPRANO, r"ends in \.svg, \.png, \.pdf"),
        ("picture", (), SOPRANO, "ends in"),
        ("a.svg", (), ("--instrument", "kazoo"), "kazoo"),
        ("a.svg", ("--layout", "bass-low-c"), SOPRANO, "choose one of.*soprano-17-6"),
        ("a.svg", ("--layout", "none.toml"), SOPRANO, "none.toml cannot be read"),
    ],
)
def test_what_cannot_be_done_exits_2_and_says_what_can(
    tmp_path: Path, name: str, options: tuple[str, ...], instrument: tuple[str, str], words: str
) -> None:
    result = draw("T", tmp_path / name, *options, instrument=instrument)
    assert result.exit_code == 2
    assert re.search(words, result.output.replace("\n", " "))


def test_the_instrument_decides_the_keywork_and_can_be_overruled(tmp_path: Path) -> None:
    bass = draw("T | | right low D", tmp_path / "a.svg", instrument=("--instrument", "b-flat-bass"))
    assert "Bass to low C" in bass.output
    german = draw("T", tmp_path / "b.svg", "--layout", "soprano-german")
    assert "Soprano, German system" in german.output


def test_a_layout_file_can_be_used_and_a_faulty_one_says_where(tmp_path: Path) -> None:
    text = write_layout(load_layout("soprano-17-6")).replace("Soprano, 17", "My soprano, 17")
    file = tmp_path / "mine.toml"
    file.write_text(text, "utf-8")
    out = tmp_path / "a.svg"
    assert "My soprano" in draw("T", out, "--layout", str(file)).output
    file.write_text(text.replace('finger = "thumb"', 'finger = "toe"', 1), "utf-8")
    result = draw("T", out, "--layout", str(file))
    assert result.exit_code == 2
    assert "toe" in result.output and "line" in result.output
    file.write_bytes(b"\xff\xfe")
    assert draw("T", out, "--layout", str(file)).exit_code == 2


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    result = draw("T", tmp_path / "no" / "such" / "a.svg")
    assert result.exit_code == 1
    assert "cannot be written" in result.output


def test_a_fingering_that_begins_with_dashes_is_no_option(tmp_path: Path) -> None:
    out = tmp_path / "a.svg"
    assert draw("--- | --- | throat A", out).exit_code == 0
    assert "--- | --- | throat A" in out.read_text("utf-8")


def test_note_cents_and_instrument_stand_on_the_picture(tmp_path: Path) -> None:
    out = tmp_path / "a.svg"
    wanted = ("--note", "D5-50c", "--staff", "--name", "--cents", "-3", "--with-instrument")
    assert draw("T R 123 | 123", out, *wanted).exit_code == 0
    text = out.read_text("utf-8")
    assert "sounds −3 cents" in text
    assert "B-flat soprano" in text
    refused = draw("T R 123 | 123", out, "--staff")
    assert refused.exit_code == 2
    assert "--note: say which note" in refused.output
