"""`quartervent piece read`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.analysis.notation.scores import bar, note, pack, rest, score, words
from tests.webapp.cli.running import run

NOTE_FIELDS = {
    "kind", "part", "bar", "bar_label", "onset", "duration", "written", "sounding_cents", "chord",
    "tie", "slur", "grace", "trill", "trill_to", "fingerings", "techniques", "dynamic", "flags",
}  # fmt: skip
CONTENT = score(
    bar(
        words("slap"),
        note("D5", "natural-up"),
        note("E5", notations="<ornaments><trill-mark/></ornaments>"),
        note("G5", before="<cue/>"),
        number="X1",
    ),
    bar(
        note("C5"), note("G5", more="<chord/>"), "<barline><repeat direction='backward'/></barline>"
    ),
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "study.musicxml"
    path.write_bytes(CONTENT)
    return path


def read_json(*arguments: str) -> list[dict[str, Any]]:
    result = run("piece", "read", *arguments, "--json")
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_json_has_notes_then_questions(file: Path) -> None:
    found = read_json(str(file))
    notes = [each for each in found if each["kind"] == "note"]
    questions = [each for each in found if each["kind"] == "question"]
    assert found == notes + questions
    assert all(set(each) == NOTE_FIELDS for each in notes)
    assert [each["written"] for each in notes] == ["D5+50c", "E5", "C5"]
    first, trill, chord = notes
    assert (first["part"], first["bar"], first["bar_label"]) == (1, 1, "X1")
    assert (first["onset"], first["duration"], first["sounding_cents"]) == ("0", "1", 7450 - 200)
    assert first["flags"] == ["size of the arrow is assumed"]
    assert (trill["trill"], trill["trill_to"]) == ("trill", "F5")
    assert chord["chord"] == ["C5", "G5"]
    assert [each["topic"] for each in questions] == ["arrows", "trills"]
    arrows = questions[0]
    assert (arrows["bars"], arrows["bar_labels"], arrows["assumed"]) == ([1], ["X1"], "50")
    assert arrows["readings"][0]["written"] == ["D5+50c", "E5"]
    assert arrows["readings"][0]["sounding_cents"] == [7250, 7400]


def test_what_was_left_out_is_counted_beside_the_objects(file: Path) -> None:
    result = run("piece", "read", str(file), "--json")
    assert "Left out, cue notes: 1 (bar X1)." in result.stderr
    assert "Words (bar X1): slap" in result.stderr


def test_the_table_can_be_read(file: Path) -> None:
    result = run("piece", "read", str(file))
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == "Clarinet in Bb"
    assert lines[1].split() == ["bar", "at", "length", "written", "sounds", "more"]
    assert lines[2].split("  ")[0] == "X1"
    assert "D5 +50 c" in lines[2] and "C5 +50 c" in lines[2]
    assert "with G5" in result.stdout
    assert "Question (bar X1): How many cents does an arrow add" in result.stdout
    assert "50 (assumed): a quarter tone D5 +50 c, E5" in result.stdout
    assert "Seam (repeat): from C5 in bar 1 to D5 +50 c in bar X1" in result.stdout
    assert "Left out, cue notes: 1 (bar X1)." in result.stdout


def test_options_answer_questions(file: Path) -> None:
    answered = read_json(str(file), "--arrows", "25")
    assert answered[0]["written"] == "D5+25c"
    assert [each["topic"] for each in answered if each["kind"] == "question"] == ["trills"]
    sounding = read_json(str(file), "--sounding", "--voice", "1", "--part", "1")
    assert (sounding[0]["written"], sounding[0]["sounding_cents"]) == ("E5+50c", 7450)


def test_an_archive_and_typed_text_are_read_too(tmp_path: Path) -> None:
    packed = tmp_path / "study.mxl"
    packed.write_bytes(pack({"a.xml": CONTENT}, container="a.xml"))
    assert read_json(str(packed))[0]["written"] == "D5+50c"
    typed = tmp_path / "paper.txt"
    typed.write_text("12: D5 −50 (1/8), E~F+25 | tr D5/Dqf5", "utf-8")
    found = read_json(str(typed))
    assert [each["written"] for each in found[:4]] == ["D5-50c", "E5", "F5+25c", "D5"]
    assert [each["bar_label"] for each in found[:4]] == ["12", "12", "12", "13"]
    assert [each["topic"] for each in found[4:]] == ["pitch", "tempo"]


@pytest.mark.parametrize(
    ("name", "content", "cause"),
    [
        ("a.xml", b"%PDF-1.7", "a PDF document"),
        ("a.xml", b"", "empty"),
        ("a.mxl", pack({"a.xml": CONTENT, "b.xml": CONTENT}), "several scores"),
        ("a.xml", score(bar(rest(4))), "no note with a pitch"),
        ("a.xml", CONTENT[:-50], "breaks off"),
        ("a.txt", b"12: D5, moon", "Bar 12, note 2"),
        ("a.txt", b"\xff\xfeD", "not in UTF-8"),
    ],
)
def test_a_refusal_has_status_2_and_names_its_cause(
    tmp_path: Path, name: str, content: bytes, cause: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    result = run("piece", "read", str(path), "--json")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert cause in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert str(tmp_path) not in result.stderr


@pytest.mark.parametrize(
    ("options", "cause"),
    [
        (["--part", "7"], "this file has 1"),
        (["--voice", "9"], "no voice “9”"),
        (["--arrows", "900"], "--arrows"),
        (["--part", "0"], "--part"),
    ],
)
def test_options_that_fit_nothing_are_refused(file: Path, options: list[str], cause: str) -> None:
    result = run("piece", "read", str(file), *options)
    assert result.exit_code == 2
    assert cause in result.stderr


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    result = run("piece", "read", str(tmp_path / "none.xml"))
    assert result.exit_code == 2
    assert "does not exist" in result.stderr
