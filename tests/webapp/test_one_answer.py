"""Is a note solved, and by which fingering? Every page and every verb behind one gives one answer.

The notebook holds the awkward cases (`awkward_cases`), which say what is right. What a page says is
kept in a dictionary that holds only what it does say, so pages that say more are asked more.
"""

from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from analysis.pitch import WrittenPitch
from tests.webapp.awkward_cases import CASES, Case, Entry, log_case, note_of_case
from tests.webapp.finder_fakes import put_in_place
from tests.webapp.logging_rows import TakeMaker
from tests.webapp.one_answer import ASKERS, Said, ask_every_page, open_world
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.targets.standing import Standing


@pytest.fixture(scope="module")
def patched() -> Iterator[pytest.MonkeyPatch]:
    """The finder and the typesetter replaced."""
    with pytest.MonkeyPatch.context() as patch:
        put_in_place(patch)
        yield patch


@dataclass
class Outcome:
    """What every page says, and the numbers of the fingerings by case and label."""

    said: dict[str, Mapping[WrittenPitch, Said]]
    numbers: dict[str, dict[str, int]]


@pytest.fixture(scope="module")
def outcome(
    patched: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Outcome]:
    """All cases in one notebook, and every page asked for each of them."""
    notes = tuple(note_of_case(case) for case in CASES)
    world = open_world(tmp_path_factory.mktemp("cases") / "notebook", patched, notes)
    with closing(world.notebook):
        maker = TakeMaker(patched)
        numbers = {
            case.name: log_case(world.notebook, maker, world.instrument, note, case)
            for case, note in zip(CASES, notes, strict=True)
        }
        yield Outcome(ask_every_page(world), numbers)


def expect(case: Case, numbers: Mapping[str, int]) -> Said:
    """What is right for a case."""
    return {
        "solved": case.is_solved,
        "best": None if case.best is None else numbers[case.best],
        "standing": case.standing,
        "in tune": case.standing is Standing.IN_TUNE,
    }


@pytest.mark.parametrize("page", ASKERS)
def test_every_page_gives_the_right_answer(outcome: Outcome, page: str) -> None:
    said = {case.name: outcome.said[page].get(note_of_case(case)) for case in CASES}
    right = {case.name: expect(case, outcome.numbers[case.name]) for case in CASES}
    silent = [name for name, each in said.items() if each is None]
    assert silent == [] or page == "entries"
    told = {name: each for name, each in said.items() if each is not None}
    assert all(told.values())
    assert told == {name: {key: right[name][key] for key in each} for name, each in told.items()}


def test_together_the_pages_say_all_there_is_to_say(outcome: Outcome) -> None:
    said = {key for notes in outcome.said.values() for each in notes.values() for key in each}
    assert said == {"solved", "best", "standing", "in tune"}
    assert len(outcome.said["entries"]) > 10


VENTED = Case(
    "vented plate",
    (
        Entry("vented", 1.0, keys="T (1)23 | 123"),
        Entry("whole", 9.0, keys="T 123 | 123", facts={"resistance": 4}),
    ),
    None,
    Standing.IN_TUNE,
    True,
)


def test_a_vented_plate_is_an_ordinary_state_and_no_half_hole(
    patched: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # A B-flat bass in treble clef sounds a ninth lower than written (common practice, from memory).
    note = WrittenPitch.from_canonical("G4+50c")
    world = open_world(
        tmp_path / "bass", patched, (note,), kind_id="b-flat-bass", layout_id="bass-low-eb"
    )
    with closing(world.notebook):
        numbers = log_case(
            world.notebook, TakeMaker(patched), world.instrument, note, VENTED,
            layout_id="bass-low-eb", transposition_cents=-1400.0,
        )  # fmt: skip
        assert not open_fingering(world.notebook, numbers["vented"]).fingering.has_half_hole
        best = numbers["vented"]
        right = {"solved": True, "best": best, "standing": Standing.IN_TUNE, "in tune": True}
        for page, notes in ask_every_page(world).items():
            for said in notes.values():
                assert said == {name: right[name] for name in said}, page
