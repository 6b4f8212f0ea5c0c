"""Commands for scripts on the notebook's own folder: instrument, log, search.

Truth: sounding frequencies by closed formula (equal temperament, A4 = 440 Hz); a B-flat clarinet
sounds a whole tone below what is written (common practice).
"""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.webapp.cli.running import run
from tests.webapp.tones import noise_wav, tone_wav

D_QUARTER_FLAT_HZ = 440 * 2 ** (250 / 1200)  # written 7350 cents, sounding 7150
KEYS, OTHER_KEYS = "T R 123 | 12-", "T R 123 | 1-3"


@pytest.fixture(name="folder")
def _folder(tmp_path: Path, empty_folder: Path) -> Path:
    folder = tmp_path / "own"
    shutil.copytree(empty_folder, folder)
    add = ("instrument", "add", "Invented B-flat", "--kind", "b-flat-soprano")
    assert run(*add, folder=folder).exit_code == 0
    return folder


def ask(folder: Path, *words: str) -> list[dict[str, Any]]:
    result = run(*words, "--json", folder=folder)
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.output.splitlines()]


def record(folder: Path, name: str, offset_cents: float) -> str:
    path = folder.parent / f"{name}.wav"
    path.write_bytes(tone_wav(D_QUARTER_FLAT_HZ * 2 ** (offset_cents / 1200), seed=len(name)))
    return str(path)


def log(folder: Path, keys: str, *words: str, target: str = "D quarter-flat 5") -> dict[str, Any]:
    (answer,) = ask(folder, "log", keys, "--for", target, "--instrument", "invented b", *words)
    return answer


def refuse(folder: Path, *words: str) -> str:
    """Run what is refused; exit status 2 and one sentence or two, no usage and no traceback."""
    result = run(*words, folder=folder)
    assert result.exit_code == 2, result.output
    (line,) = result.output.strip().splitlines()
    assert line.startswith("Error: ") and line.endswith(".")
    return line


def test_an_instrument_is_added_and_listed(folder: Path) -> None:
    (added,) = ask(folder, "instrument", "add", "Low one", "--kind", "bass", "--tuning", "442")
    listed = ask(folder, "instrument", "list")
    assert [each["name"] for each in listed] == ["Invented B-flat", "Low one"]
    assert listed[1] == added
    assert (added["kind"], added["tuning_hz"], added["fingerings"]) == ("b-flat-bass", 442.0, 0)
    assert added["right_thumb"] == "free"
    plain = run("instrument", "list", folder=folder).output.splitlines()
    assert plain[1].startswith("2  Low one: ") and "A = 442 Hz" in plain[1]


def test_what_the_right_thumb_does_is_said(folder: Path) -> None:
    bass = ("--kind", "bass", "--layout", "bass-low-c", "--right-thumb", "carries")
    (added,) = ask(folder, "instrument", "add", "Carried", *bass)
    assert added["right_thumb"] == "carries"
    keys = ("log", "T 123 | 123 | thumb low C", "--for", "C3", "--instrument", "Carried")
    assert "The right thumb carries the instrument" in refuse(folder, *keys)
    soprano = ("instrument", "add", "New", "--kind", "b-flat soprano", "--right-thumb", "free")
    assert "reaches no key" in refuse(folder, *soprano)


def test_an_empty_notebook_says_how_to_begin(tmp_path: Path) -> None:
    said = run("instrument", "list", folder=tmp_path / "new")
    assert said.exit_code == 0 and "quartervent instrument add" in said.output
    words = ("log", KEYS, "--for", "D5", "--instrument", "any")
    assert "quartervent instrument add" in run(*words, folder=tmp_path / "new").output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("Invented B-FLAT ", "--kind", "bass"), "already"),
        (("New", "--kind", "spoon"), "no clarinet known"),
        (("New", "--kind", "bass", "--tuning", "20"), "20"),
        (("New", "--kind", "bass", "--layout", "none"), "none"),
        ((" ", "--kind", "bass"), "needs a name"),
    ],
)
def test_an_instrument_that_cannot_be_added_is_refused(
    folder: Path, words: tuple[str, ...], said: str
) -> None:
    assert said in refuse(folder, "instrument", "add", *words)
    assert len(ask(folder, "instrument", "list")) == 1


def test_what_is_logged_is_measured_and_judged(folder: Path) -> None:
    takes = [word for name in ("a", "bb") for word in ("--take", record(folder, name, -4.0))]
    answer = log(folder, KEYS, *takes, "--dynamic", "mf", "--resistance", "1", "--notes", "soft")
    assert answer["standing"] == "in tune"
    assert answer["offset_cents"] == pytest.approx(-4.0, abs=0.3)
    assert answer["uncertainty_cents"] > 0
    assert (answer["takes_counted"], answer["takes_set_aside"]) == (2, 0)


def test_what_was_never_recorded_is_not_tried(folder: Path) -> None:
    answer = log(folder, KEYS)
    assert answer["standing"] == "not tried" and answer["takes_counted"] == 0
    assert answer["offset_cents"] is None and answer["uncertainty_cents"] is None


def test_offset_and_standing_of_log_are_from_the_note_it_is_for(folder: Path) -> None:
    answer = log(folder, KEYS, "--take", record(folder, "far", 57.0))
    assert answer["standing"] == "elsewhere"
    assert answer["offset_cents"] == pytest.approx(57.0, abs=0.3)
    (found,) = ask(folder, "search", "D5", "--instrument", "Invented B-flat")
    assert found["id"] == answer["id"] and found["standing"] == "in tune"
    assert found["offset_cents"] == pytest.approx(7.0, abs=0.3)


def test_a_base_is_kept_with_the_way_it_was_derived(folder: Path) -> None:
    first = log(folder, "T R 123 | 123", target="D5")
    second = log(folder, KEYS, "--base", "T R 123 | 123")
    assert second["id"] == first["id"] + 1
    words = ("log", KEYS, "--for", "D5", "--instrument", "inv", "--base", "--- | 1-3")
    assert "neither an ordinary fingering" in refuse(folder, *words)


def test_the_same_recording_named_twice_is_one_take(folder: Path) -> None:
    take = record(folder, "once", 0.0)
    assert log(folder, KEYS, "--take", take, "--take", take)["takes_counted"] == 1


@pytest.mark.parametrize(
    ("keys", "words", "said"),
    [
        ("T R 99", ("--for", "D5"), "9"),
        (KEYS, ("--for", "H17"), "H17"),
        (KEYS, ("--for", "D5", "--resistance", "6"), "Resistance"),
        (KEYS, ("--for", "D5", "--dynamic", "loud"), "dynamic"),
        (KEYS, ("--for", "D5", "--take", "nowhere.wav"), "no file"),
        (KEYS, ("--for", "D5", "--take", "{text}"), "not a recording"),
    ],
)
def test_what_cannot_be_logged_is_refused_and_nothing_is_kept(
    folder: Path, keys: str, words: tuple[str, ...], said: str
) -> None:
    text = folder.parent / "text.wav"
    text.write_text("Dear reader, this is a letter and no sound at all.")
    filled = [word.format(text=text) for word in words]
    good = record(folder, "good", 0.0)
    line = refuse(folder, "log", keys, *filled, "--take", good, "--instrument", "Invented B-flat")
    assert said in line
    (left,) = ask(folder, "instrument", "list")
    assert left["fingerings"] == 0


def test_a_take_without_a_pitch_is_kept_and_counts_for_nothing(folder: Path) -> None:
    breath = folder.parent / "breath.wav"
    breath.write_bytes(noise_wav())
    answer = log(folder, KEYS, "--take", str(breath))
    assert (answer["standing"], answer["takes_counted"]) == ("not tried", 0)


def test_an_instrument_that_is_not_there_or_not_clear_is_refused(folder: Path) -> None:
    ask(folder, "instrument", "add", "Invented bass", "--kind", "bass")
    for name in ("Invented", "Nobody"):
        line = refuse(folder, "search", "D5", "--instrument", name)
        assert "“Invented B-flat”, “Invented bass”" in line


def test_search_lists_the_best_first_and_says_why(folder: Path) -> None:
    stuffy = log(folder, KEYS, "--take", record(folder, "a", -2.0), "--resistance", "5")
    free = log(folder, OTHER_KEYS, "--take", record(folder, "bb", -4.0), "--resistance", "1")
    open_one = log(folder, "T R 123 | 1--")
    found = ask(folder, "search", "D quarter-flat 5", "--instrument", "Invented B-flat")
    assert [each["id"] for each in found] == [free["id"], stuffy["id"], open_one["id"]]
    assert [each["standing"] for each in found] == ["in tune", "in tune", "not tried"]
    assert found[0].keys() >= {
        "id", "fingering", "standing", "offset_cents", "uncertainty_cents", "takes_counted",
        "is_choice", "resistance", "half_hole",
    }  # fmt: skip
    assert found[0]["fingering"] == OTHER_KEYS and found[0]["resistance"] == 1
    plain = run("search", "D quarter-flat 5", "--instrument", "inv", folder=folder).output
    assert "the freest" in plain.splitlines()[0]


def test_a_width_widens_the_list_and_never_the_standing(folder: Path) -> None:
    log(folder, KEYS, "--take", record(folder, "flat", -20.0))
    words = ("search", "D quarter-flat 5", "--instrument", "inv", "--within")
    for width in ("5", "25", "50"):
        (found,) = ask(folder, *words, width)
        assert found["standing"] == "elsewhere", width
        assert found["offset_cents"] == pytest.approx(-20.0, abs=0.3)


def test_where_nothing_is_there_the_nearest_stay_as_starting_points(folder: Path) -> None:
    log(folder, KEYS, "--take", record(folder, "a", 0.0))
    (found,) = ask(folder, "search", "D#5", "--instrument", "inv")
    assert found["standing"] == "elsewhere"
    assert found["offset_cents"] == pytest.approx(-150.0, abs=0.3)
    assert ask(folder, "search", "E5", "--instrument", "inv") == []


@pytest.mark.parametrize(
    "words", [("H17",), ("D5", "--within", "0"), ("D5", "--within", "900"), ("", "--within", "-1")]
)
def test_a_search_that_cannot_be_made_is_refused(folder: Path, words: tuple[str, ...]) -> None:
    refuse(folder, "search", *words)
