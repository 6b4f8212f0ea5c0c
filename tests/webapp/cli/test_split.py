"""`quartervent split`: several notes in one file."""

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner, Result

from tests.analysis.recording.sounds import RATE, Played, play, sound_together
from tests.measured_once import measure_once_in
from tests.webapp.tones import silent_wav
from webapp.cli import main, split

# Written C5, D5 -50 and D5 on a B-flat soprano sound 100, 250 and 300 cents above A4.
CENTS = (100, 250, 300)


@pytest.fixture(scope="module", autouse=True)
def heard_once() -> Iterator[None]:
    """All commands of this file share what was heard in the one phrase."""
    patch = measure_once_in(split)
    yield
    patch.undo()


def run(*arguments: str) -> Result:
    """Run `quartervent split`."""
    return CliRunner().invoke(main, ["split", *arguments])


@pytest.fixture(scope="module")
def phrase(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Three notes, 5 cents sharp each, then a multiphonic."""
    path = tmp_path_factory.mktemp("split") / "phrase.wav"
    notes = [Played(440 * 2 ** ((cents + 5) / 1200), 0.6) for cents in CENTS]
    clip = np.concatenate([play(notes), sound_together((233.0, 545.0), (0.0, -3.0))])
    soundfile.write(path, clip, RATE)
    return str(path)


def rows_of(result: Result) -> list[dict[str, object]]:
    """The JSON lines."""
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_every_note_is_one_line_with_its_place_and_measurement(phrase: str) -> None:
    result = run(phrase)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].split() == [
        "note", "from", "to", "verdict", "Hz", "offset", "spread", "target",
    ]  # fmt: skip
    assert [line.split()[:1] for line in lines[1:4]] == [["1"], ["2"], ["3"]]
    assert lines[1].split()[1].startswith("0:00.3") and lines[1].split()[3] == "ok"
    assert "multiphonic" in lines[4]
    assert "Several notes sound at once" in lines[5]


def test_json_goes_to_the_output_and_progress_to_the_error_stream(phrase: str) -> None:
    result = run(phrase, "--json")
    rows = rows_of(result)
    assert [row["verdict"] for row in rows] == ["ok", "ok", "ok", "multiphonic"]
    assert [row["note"] for row in rows] == [1, 2, 3, 4]
    assert rows[0]["f0_hz"] == pytest.approx(440 * 2 ** (105 / 1200), rel=1e-4)
    assert rows[3]["f0_hz"] is None and rows[3]["components"]
    assert "Listening" in result.stderr


def test_one_target_is_for_all(phrase: str) -> None:
    rows = rows_of(run(phrase, "--json", "--target", "C5"))
    assert rows[0]["offset_cents"] == pytest.approx(5.0, abs=0.1)
    assert rows[2]["offset_cents"] == pytest.approx(205.0, abs=0.1)
    assert rows[2]["warnings"] == ["other note"]


def test_several_targets_are_told_by_pitch(phrase: str) -> None:
    targets = ("--target", "C5", "--target", "D5 -50", "--target", "D5")
    rows = rows_of(run(phrase, "--json", *targets))
    assert [row["target"] for row in rows] == ["C5", "D5 -50", "D5", None]
    assert [row["no_proposal"] for row in rows] == [None, None, None, "no pitch"]
    assert [row["offset_cents"] for row in rows[:3]] == [pytest.approx(5.0, abs=0.1)] * 3
    assert "no pitch" in run(phrase, *targets).stdout


def test_out_writes_each_take_under_a_name_of_our_own(phrase: str, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "takes"
    rows = rows_of(run(phrase, "--json", "--out", str(folder)))
    names = [f"take-{number:03d}.wav" for number in range(1, 5)]
    assert sorted(path.name for path in folder.iterdir()) == names
    assert [Path(str(row["file"])).name for row in rows] == names
    source, _ = soundfile.read(phrase)
    for row in rows:
        take, rate_hz = soundfile.read(str(row["file"]))
        first = round(float(str(row["from_s"])) * RATE)
        assert rate_hz == RATE
        assert np.allclose(take, source[first : first + len(take)], atol=1e-4)


def test_a_file_that_is_there_already_stays(phrase: str, tmp_path: Path) -> None:
    (tmp_path / "take-002.wav").write_bytes(b"mine")
    result = run(phrase, "--out", str(tmp_path))
    assert result.exit_code == 1
    assert "is there already" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["take-002.wav"]
    assert (tmp_path / "take-002.wav").read_bytes() == b"mine"


def test_a_folder_that_cannot_be_made_is_one_sentence(phrase: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    result = run(phrase, "--out", str(tmp_path / "file" / "takes"))
    assert result.exit_code == 1
    assert "cannot be written to" in result.output and "Traceback" not in result.output


@pytest.mark.parametrize(
    ("content", "words"),
    [(silent_wav(), "No held note was found"), (b"just words", "something else")],
)
def test_a_file_without_notes_ends_with_1(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "clip.wav"
    path.write_bytes(content)
    result = run(str(path))
    assert result.exit_code == 1
    assert words in result.output and "Traceback" not in result.output


@pytest.mark.parametrize("arguments", [(), ("no-such-file.wav",)])
def test_a_call_without_a_file_ends_with_2(arguments: tuple[str, ...]) -> None:
    assert run(*arguments).exit_code == 2


def test_a_target_that_cannot_be_read_ends_with_2(phrase: str) -> None:
    assert run(phrase, "--target", "nonsense").exit_code == 2
