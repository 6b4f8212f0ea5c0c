"""`quartervent piece todo`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.analysis.notation.scores import bar, note, score
from tests.webapp.cli.running import run
from tests.webapp.logging_rows import log
from webapp.notebook.store.notebook import Notebook

TEXT = (
    '12: D5 -50 (1/2) "1/4=60" "pp", E5~F5+25 (1/4) | 13: tr D5/Dqf5 (1/4), gr Eqf5 | '
    'C5 & A5 (1/4) [T R 12 | 1--], C4 "slap"'
)
NOTE_FIELDS = {
    "kind", "written", "sounding_cents", "count", "bars", "bar_labels", "shortest_s", "longest_s",
    "shortest", "longest", "slurred", "tongued", "grace", "alternating", "dynamics", "fingerings",
    "techniques", "tolerance_cents", "tolerance", "standing", "solved", "best", "nearest",
}  # fmt: skip
APART_FIELDS = {"kind", "what", "count", "bars", "bar_labels", "written", "fingerings"}


@pytest.fixture
def folder(notebook: Notebook, clarinet: int) -> Path:
    """A notebook with an untried fingering for the first note, and one near to another."""
    log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    log(notebook, clarinet, "F5", "T R 1-- | ---")
    return notebook.folder


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "study.txt"
    path.write_text(TEXT, "utf-8")
    return path


def ask(*arguments: str, folder: Path) -> list[dict[str, Any]]:
    result = run("piece", "todo", *arguments, "--instrument", "B-flat", "--json", folder=folder)
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_json_has_notes_then_what_stands_apart(file: Path, folder: Path) -> None:
    found = ask(str(file), folder=folder)
    notes = [each for each in found if each["kind"] == "note"]
    apart = [each for each in found if each["kind"] == "apart"]
    assert found == notes + apart
    assert all(set(each) == NOTE_FIELDS for each in notes)
    assert all(set(each) == APART_FIELDS for each in apart)
    assert [each["written"] for each in notes] == ["F5+25c", "E5-50c", "D5-50c"]
    assert [each["standing"] for each in notes] == ["open", "open", "not tried"]
    first, grace, untried = notes
    assert (first["nearest"]["offset_cents"], first["best"]) == (-25.0, None)
    assert (first["slurred"], first["tongued"], first["dynamics"]) == (1, 0, ["pp"])
    assert (grace["grace"], grace["longest_s"], grace["tolerance_cents"]) == (1, None, 20.0)
    assert (untried["bars"], untried["bar_labels"]) == ([1, 2], ["12", "13"])
    assert (untried["shortest_s"], untried["longest_s"], untried["longest"]) == (1.0, 2.0, "2")
    assert (untried["tolerance"], untried["tolerance_cents"]) == ("held", 5.0)
    assert (untried["alternating"], untried["solved"]) == (1, False)
    assert untried["best"]["fingering"] == "T R 123 | 12-"
    chord, slap = apart
    assert (chord["what"], chord["written"]) == ("multiphonic", ["C5", "A5"])
    assert (chord["fingerings"], chord["bar_labels"]) == (["T R 12 | 1--"], ["14"])
    assert (slap["what"], slap["bar_labels"]) == ("slap", ["14"])


def test_the_table_can_be_read(file: Path, folder: Path) -> None:
    result = run("piece", "todo", str(file), "--instrument", "b-flat", folder=folder)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == "study on B-flat"
    assert lines[1].split()[:3] == ["note", "stands", "times"]
    assert lines[2].split() == ["F5", "+25", "c", "open", "1", "1.0", "s", "10", "(usual)",
                                "slurred;", "pp", "12"]  # fmt: skip
    assert lines[3].strip() == "nearest: −25.0  T R 1-- | ---  (not measured)"
    assert "Apart, multiphonic: 1 (bar 14): C5, A5 [T R 12 | 1--]" in lines
    assert "Apart, slap: 1 (bar 14)" in lines
    assert lines[-1] == "Still open: bars 12, 13."


def test_bars_that_remain_are_told_beside_the_objects(file: Path, folder: Path) -> None:
    result = run("piece", "todo", str(file), "--instrument", "B-flat", "--json", folder=folder)
    assert "Still open: bars 12, 13." in result.stderr


def test_nothing_to_do(tmp_path: Path, folder: Path) -> None:
    path = tmp_path / "plain.txt"
    path.write_text("1: C5, D5, E5", "utf-8")
    result = run("piece", "todo", str(path), "--instrument", "B-flat", folder=folder)
    assert "Every note with a pitch is an ordinary one." in result.stdout
    assert result.stdout.splitlines()[-1] == "Nothing is open."


def test_a_part_for_another_clarinet_is_not_called_settled(tmp_path: Path, folder: Path) -> None:
    path = tmp_path / "study.musicxml"
    path.write_bytes(score(bar(note("D5"), number="3"), transposition="-2 -3"))
    result = run("piece", "todo", str(path), "--instrument", "B-flat", folder=folder)
    lines = result.stdout.splitlines()
    assert lines[1] == "No single note of this part is for this instrument."
    assert lines[2] == "Apart, for an instrument of another transposition: 1 (bar 3)"
    assert "Nothing is open." not in lines


def test_a_score_file_with_its_options(tmp_path: Path, folder: Path) -> None:
    path = tmp_path / "study.musicxml"
    path.write_bytes(score(bar(note("D5", "natural-up"), note("E5 -0.5"), number="X1")))
    (first, second) = ask(str(path), "--arrows", "25", "--part", "1", "--voice", "1", folder=folder)
    assert {first["written"], second["written"]} == {"D5+25c", "E5-50c"}
    sounding = ask(str(path), "--arrows", "25", "--sounding", folder=folder)
    assert {each["written"] for each in sounding} == {"E5+25c", "F5+50c"}
    result = run("piece", "todo", str(path), "--instrument", "B-flat", folder=folder)
    assert "Assumed “50” (bar X1): How many cents does an arrow add" in result.stdout


@pytest.mark.parametrize(
    ("content", "options", "cause"),
    [
        (TEXT, ["--instrument", "tuba"], "Say with --instrument which one: “B-flat”."),
        (TEXT, [], "--instrument"),
        ("12: D5, moon", ["--instrument", "B-flat"], "Bar 12, note 2"),
        ("1: r", ["--instrument", "B-flat"], "There is no note yet"),
    ],
)
def test_a_refusal_has_status_2_and_names_its_cause(
    tmp_path: Path, folder: Path, content: str, options: list[str], cause: str
) -> None:
    path = tmp_path / "part.txt"
    path.write_text(content, "utf-8")
    result = run("piece", "todo", str(path), *options, "--json", folder=folder)
    assert (result.exit_code, result.stdout) == (2, "")
    assert cause in result.stderr
