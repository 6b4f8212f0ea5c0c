"""`quartervent piece plan`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.webapp.cli.running import run
from tests.webapp.finder_fakes import FakeFinder, put_in_place
from tests.webapp.logging_rows import log
from webapp.notebook.store.notebook import Notebook

TEXT = '12: A4~B4 (1/16) "1/4=132", A4~B4 (1/16), D5 -50 (1/4) | 13: tr D5/E5'
NOTE_FIELDS = {
    "kind", "bar", "bar_label", "onset", "written", "fingering", "trill_to", "trill_fingering",
    "is_predicted", "stands", "id", "alternatives",
}  # fmt: skip
WAY_FIELDS = {
    "kind", "bar_labels", "count", "written", "fingerings", "cost", "words", "is_trill",
    "measured_s",
}  # fmt: skip


@pytest.fixture
def finder(monkeypatch: pytest.MonkeyPatch) -> FakeFinder:
    return put_in_place(monkeypatch)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "study.txt"
    path.write_text(TEXT, "utf-8")
    return path


def ask(*arguments: str, folder: Path) -> list[dict[str, Any]]:
    result = run("piece", "plan", *arguments, "--instrument", "B-flat", "--json", folder=folder)
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_json_has_notes_then_awkward_transitions(
    file: Path, notebook: Notebook, clarinet: int, finder: FakeFinder
) -> None:
    untried = log(notebook, clarinet, "D5 -50", "T R 123 | 12- | G#/Eb")
    found = ask(str(file), folder=notebook.folder)
    notes = [each for each in found if each["kind"] == "note"]
    ways = [each for each in found if each["kind"] == "transition"]
    assert found == notes + ways
    assert all(set(each) == NOTE_FIELDS for each in notes)
    assert all(set(each) == WAY_FIELDS for each in ways)
    assert [each["written"] for each in notes] == ["A4", "B4", "A4", "B4", "D5-50c", "D5"]
    assert [each["fingering"] for each in notes[:4:2]] == ["--- | 123 | throat A"] * 2
    assert notes[5]["trill_to"] == "E5"
    assert notes[5]["trill_fingering"]
    quarter = [notes[4], *notes[4]["alternatives"]]
    assert [each["is_predicted"] for each in quarter if each["id"] == untried] == [False]
    assert [each["id"] for each in quarter if each["is_predicted"]] == [None, None]
    assert len(finder.asked) == 1
    harder = [each["harder"] for each in notes[0]["alternatives"]]
    assert harder == sorted(harder)


@pytest.mark.usefixtures("finder")
def test_bars_and_tempo_are_the_players(file: Path, notebook: Notebook, clarinet: int) -> None:
    assert clarinet
    only = ask(str(file), "--bars", "13", "--bpm", "40", folder=notebook.folder)
    assert [each["bar_label"] for each in only if each["kind"] == "note"] == ["13"]
    slow = ask(str(file), "--bars", "12", "--bpm", "20", folder=notebook.folder)
    assert [each for each in slow if each["kind"] == "transition"] == []


@pytest.mark.usefixtures("finder")
def test_the_table_tells_fingerings_alternatives_and_what_is_awkward(
    file: Path, notebook: Notebook, clarinet: int
) -> None:
    assert clarinet
    told = run("piece", "plan", str(file), "--instrument", "B-flat", folder=notebook.folder)
    assert told.exit_code == 0, told.output
    assert "--- | 123 | throat A" in told.output
    assert "or --- | --- | throat A" in told.output
    assert "predicted \N{MINUS SIGN}7" in told.output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--bars", "99"], "There is no bar “99” in this part; it has 12 to 13."),
        (["--bars", "13-12"], "Bar 12 comes before bar 13."),
        (["--bpm", "1000"], "Give 10 to 400 quarter notes a minute."),
    ],
)
def test_what_is_wrong_is_one_sentence(
    file: Path, notebook: Notebook, clarinet: int, arguments: list[str], words: str
) -> None:
    assert clarinet
    told = run(
        "piece", "plan", str(file), "--instrument", "B-flat", *arguments, folder=notebook.folder
    )
    assert told.exit_code == 2
    assert words in told.output
