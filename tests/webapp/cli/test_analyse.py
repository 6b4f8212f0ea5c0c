"""The command that measures files."""

import json
import os
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import Result

from tests.webapp.cli.running import run
from tests.webapp.tones import encoded_tone, noise_wav, silent_wav, tone_wav

FIELDS = {
    "file", "verdict", "f0_hz", "f0_uncertainty_cents", "target_hz", "offset_cents",
    "spread_cents", "drift_cents_per_s", "centroid_hz", "brightness_partials", "duration_s",
    "steady_from_s", "steady_to_s", "warnings", "vibrato", "odd_even_db", "breath_noise_db",
    "time_to_speak_s", "components", "alternation", "flutter_hz", "method_version",
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


def test_every_field_is_explained_by_the_help() -> None:
    told = run("analyse", "--help").output
    assert [field for field in sorted(FIELDS - {"file"}) if field not in told] == []


def test_the_uncertainty_has_the_same_floor_in_json_and_in_the_table(
    recordings: dict[str, str],
) -> None:
    (row,) = lines_of(run("analyse", recordings["note.wav"], "--json")).values()
    assert row["f0_uncertainty_cents"] == 0.1  # as the table says; the tone itself is still


def test_a_trill_and_a_flutter_carry_their_rates(tmp_path: Path) -> None:
    time_s = np.arange(3 * 44_100) / 44_100
    is_high = (time_s * 6.0) % 1.0 >= 0.5
    trill = np.sin(2 * np.pi * np.cumsum(np.where(is_high, 495.0, 440.0)) / 44_100)
    flutter = np.sin(2 * np.pi * 440.0 * time_s) * (1 + 0.7 * np.sin(2 * np.pi * 24.0 * time_s))
    for name, sound in (("trill.wav", trill), ("flutter.wav", flutter)):
        soundfile.write(tmp_path / name, 0.2 * sound, 44_100)
    files = [str(tmp_path / name) for name in ("trill.wav", "flutter.wav")]
    rows = lines_of(run("analyse", *files, "--json"))
    assert rows["trill.wav"]["verdict"] == "trill"
    assert rows["trill.wav"]["alternation"] == pytest.approx(
        {"rate_hz": 6.0, "low_hz": 440.0, "high_hz": 495.0}, rel=0.02
    )
    assert rows["flutter.wav"]["verdict"] == "ok"
    assert rows["flutter.wav"]["flutter_hz"] == pytest.approx(24.0, abs=0.5)
    assert rows["flutter.wav"]["f0_hz"] == pytest.approx(440.0, rel=1e-3)


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
