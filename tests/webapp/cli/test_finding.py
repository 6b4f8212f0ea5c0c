"""`quartervent suggest` and `quartervent predict`."""

import json
from pathlib import Path

import pytest

from tests.webapp.cli.running import run
from tests.webapp.logging_rows import Filled
from webapp.notebook.store.notebook import Notebook

SOPRANO = ("--instrument", "b-flat-soprano")
FIELDS = {
    "rank", "fingering", "base", "strategy", "changes", "offset_cents", "sigma_cents", "chance",
    "ease", "half_hole",
}  # fmt: skip


def test_suggestions_are_one_object_a_line() -> None:
    result = run("suggest", "G5 -50", *SOPRANO, "--count", "3", "--json")
    assert result.exit_code == 0
    found = [json.loads(line) for line in result.output.splitlines()]
    assert [one["rank"] for one in found] == [1, 2, 3]
    assert all(set(one) >= FIELDS for one in found)
    # common practice, from memory: F#5 with the middle finger, add the right cross key
    (cross,) = [one for one in found if one["fingering"] == "T R 123 | -2- | right cross"]
    assert cross["strategy"] == "raised"


def test_suggestions_in_words_say_that_they_are_predicted() -> None:
    result = run("suggest", "G quarter-flat 5", *SOPRANO)
    assert result.exit_code == 0
    assert "predicted, not measured" in result.output
    assert "raised from the lower neighbour, from F sharp 5" in result.output


def test_hertz_are_read_with_the_tuning() -> None:
    # G quarter-flat 5 on a B-flat soprano sounds 750 cents above A4
    hertz = 442 * 2 ** (750 / 1200)
    tuned = run("suggest", f"{hertz:.4f} Hz", *SOPRANO, "--tuning", "442", "--json")
    found = [json.loads(line)["fingering"] for line in tuned.output.splitlines()]
    assert "T R 123 | -2- | right cross" in found


def test_predictions_are_one_object_a_register() -> None:
    result = run("predict", "T R 123 | ---", *SOPRANO, "--json")
    assert result.exit_code == 0
    found = [json.loads(line) for line in result.output.splitlines()]
    assert set(found[0]) == {"register", "written", "offset_cents", "sigma_cents"}
    assert (found[0]["register"], found[0]["written"]) == ("clarion", "G5")
    assert abs(found[0]["offset_cents"]) < 10


def test_a_fingering_that_begins_with_dashes_is_no_option() -> None:
    result = run("predict", "--- | --- | throat A", *SOPRANO)
    assert result.exit_code == 0
    assert "throat      A4" in result.output


@pytest.mark.parametrize(
    ("arguments", "pointer"),
    [
        (("suggest", "Q5", *SOPRANO), "Q5\n  ^"),
        (("suggest", "G", *SOPRANO), "G5"),
        (("suggest", "G5", "--instrument", "kazoo"), "kazoo"),
        (("suggest", "G5", *SOPRANO, "--layout", "soprano-german"), "No tube is known"),
        (("suggest", "G5", *SOPRANO, "--tuning", "300"), "300"),
        (("suggest", "G5", *SOPRANO, "--layout", "bass-low-c"), "choose one of soprano-17-6"),
        (("predict", "T R 12x | -2-", *SOPRANO), "T R 12x | -2-\n        ^"),
        (("predict", "T 123 | 123 | left F#, left C#/G#, left E", *SOPRANO), "^"),
        (("predict", "T 123", "--instrument", "kazoo"), "kazoo"),
    ],
)
def test_what_cannot_be_read_is_pointed_at(arguments: tuple[str, ...], pointer: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert pointer in result.output


def test_own_takes_are_used_only_when_asked_for(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    notebook.close()
    kind = ("suggest", "G5 -50", *SOPRANO, "--json")
    plain, again = run(*kind), run(*kind, folder=notebook.folder)
    assert plain.output == again.output
    own = run(*kind, "--own", folder=notebook.folder)
    assert own.exit_code == 0
    assert json.loads(own.output.splitlines()[0])["rank"] == 1


def test_an_instrument_that_the_notebook_lacks_is_said(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    notebook.close()
    result = run("suggest", "G5", "--instrument", "c soprano", "--own", folder=notebook.folder)
    assert result.exit_code == 1
    assert "holds no such instrument" in result.output


def test_a_key_that_not_every_instrument_has_can_be_switched_on(tmp_path: Path) -> None:
    # the lever for A flat and E flat of the left hand opens the same hole as the right hand's key
    kind = ("--instrument", "b-flat soprano", "--json")
    lever, key = "T R 123 | 123 | left G#/Eb", "T R 123 | 123 | G#/Eb"
    assert run("predict", lever, *kind, folder=tmp_path).exit_code != 0
    by_lever, by_key = (
        run("predict", one, *kind, "--with", "left-ab", folder=tmp_path) for one in (lever, key)
    )
    assert by_lever.exit_code == 0, by_lever.output
    assert by_lever.output == by_key.output
    refused = run("suggest", "G5", *kind, "--with", "kazoo", folder=tmp_path)
    assert "may have or lack" in refused.output


def test_a_thumb_that_carries_presses_no_key(tmp_path: Path) -> None:
    kind = ("--instrument", "bass", "--layout", "bass-low-c")
    low_c = ("predict", "T 123 | 123 | thumb low C", *kind)
    assert run(*low_c, folder=tmp_path).exit_code == 0
    for thumb, status, words in (
        ("shares", 0, "predicted"),
        ("carries", 2, "The right thumb carries the instrument"),
    ):
        result = run(*low_c, "--right-thumb", thumb, folder=tmp_path)
        assert (result.exit_code, words in result.output) == (status, True), result.output
    soprano = run("predict", "T R 123 | 123", *SOPRANO, "--right-thumb", "free", folder=tmp_path)
    assert "choose one of none" in soprano.output


def test_what_was_computed_is_kept_on_disk_and_gives_the_same_answer(tmp_path: Path) -> None:
    asked = ("suggest", "G5 -50", "--instrument", "b-flat soprano", "--json")
    first, second = (run(*asked, folder=tmp_path) for _ in range(2))
    assert first.output == second.output
    kept = {path.name.split("-")[0] for path in (tmp_path / "cache").iterdir()}
    assert kept == {"screening", "sensitivities", "ways"}


def test_the_notes_beside_it_are_weighed() -> None:
    plain = run("suggest", "G5 -50", *SOPRANO, "--json")
    beside = run("suggest", "G5 -50", *SOPRANO, "--json", "--before", "F5", "--after", "A5")
    found = [json.loads(line) for line in beside.output.splitlines()]
    assert all(json.loads(line)["motion"] is None for line in plain.output.splitlines())
    assert all(one["motion"] > 0 for one in found)
    refused = run("suggest", "G5 -50", *SOPRANO, "--before", "G5-50")
    assert refused.exit_code == 2
    assert "No ordinary fingering is known for G quarter-flat 5" in refused.output


def test_a_trill_is_one_pair_a_line() -> None:
    # common practice, from memory: the right cross key trills F5 with F sharp 5
    found = [json.loads(line) for line in run("trill", "F#5", "F5", "--json").output.splitlines()]
    assert (found[0]["rank"], found[0]["one_finger"], found[0]["effort"]) == (1, True, 2.0)
    assert found[0]["lower"]["fingering"] == "T R 123 | 1--"
    assert found[0]["upper"]["fingering"] == "T R 123 | 1-- | right cross"
    assert found[0]["upper"]["evidence"] == "ordinary"
    assert "presses: right third finger" in run("trill", "F5", "F#5").output


def test_other_colours_are_one_object_a_line() -> None:
    found = [json.loads(line) for line in run("colours", "G5", "--json").output.splitlines()]
    distances = [one["colour_db"] for one in found]
    assert distances == sorted(distances, reverse=True)
    assert all(abs(one["offset_cents"]) <= 10 for one in found)
    assert {one["evidence"] for one in found} == {"predicted"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("trill", "F5", "F5"), "Both notes are the same"),
        (("trill", "F4", "G5"), "more than an octave apart"),
        (("trill", "F5", "C2"), "lies below the range"),
        (("trill", "F5", "G5", "--own", "--with", "left-ab"), "--with"),
        (("colours", "G5", "--own", "--right-thumb", "free"), "--right-thumb"),
        (("colours", "G5-50c"), "quartervent suggest"),
        (("colours", "Q5"), "can't be read"),
    ],
)
def test_what_makes_no_trill_and_no_colour_is_refused(
    arguments: tuple[str, ...], words: str
) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert words in result.output
