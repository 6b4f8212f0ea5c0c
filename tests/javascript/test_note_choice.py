"""The note chosen by touch: what it writes is read by the notebook as the very note.

Truth: the notebook's own parser, which knows nothing of the script; the view is the server's.
"""

from __future__ import annotations

import json
import random
from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.pitch import (
    KINDS,
    SIGN_SYSTEMS,
    NoteNames,
    SignSystem,
    SystemId,
    Tuning,
    WrittenPitch,
    parse_pitch,
)
from tests.javascript.node import Node
from webapp.drawing.staff import ledger_steps
from webapp.notebook.preferences.preferences import Writing
from webapp.presenting.note_entry import UNITS_PER_CENT, describe_view

SOPRANO = KINDS["b-flat-soprano"]
STEIN = SIGN_SYSTEMS[SystemId.STEIN_ZIMMERMANN]
MOVES = 40


def view(
    system: SignSystem = STEIN, names: NoteNames = NoteNames.ENGLISH, text: str = ""
) -> dict[str, object]:
    """What a page with a field that holds `text` says to the script."""
    writing = replace(Writing(), names=names, accidentals=system)
    low = WrittenPitch.from_canonical("E3")
    ends = (low, WrittenPitch.from_canonical("G6"))
    found = describe_view(
        "q", text, writing, clef="treble", ends=ends, transposition=SOPRANO.transposition,
        tuning=Tuning(442.0),
    )  # fmt: skip
    sent: dict[str, object] = json.loads(json.dumps(found))
    return sent


def some_moves(seed: int) -> list[tuple[str, int]]:
    chance = random.Random(seed)
    kinds = {"moved": (-3, 3), "resigned": (-4, 4), "nudged": (-25, 25), "movedTo": (20, 45)}
    names = [chance.choice(list(kinds)) for _ in range(MOVES)]
    return [(name, chance.randint(*kinds[name])) for name in names]


@pytest.mark.parametrize("names", NoteNames)
@pytest.mark.parametrize("system", SIGN_SYSTEMS.values(), ids=lambda each: each.text)
def test_what_it_writes_is_read_as_the_very_note(
    node: Node, system: SignSystem, names: NoteNames
) -> None:
    for told in node.job(
        "note-choice.js", "follow", view(system, names), some_moves(len(system.text))
    ):
        read = parse_pitch(told["text"], names=names, system=system)
        assert isinstance(read, WrittenPitch)
        assert float(read.cents) == pytest.approx(told["cents"], abs=1e-6)
        assert read.octave == told["step"] // 7
        if told["kept"]:
            kept = parse_pitch(told["kept"], names=names)
            assert isinstance(kept, WrittenPitch)
            assert kept == read
            assert kept.sign_cents == Fraction(told["sign"], UNITS_PER_CENT)


def test_it_begins_with_the_note_of_the_field_and_its_spelling(node: Node) -> None:
    (told,) = node.job("note-choice.js", "follow", view(text="F#5 -30"), [])
    assert (told["words"], told["name"]["rest"]) == ("F sharp 5, 30 cents lower", "−30")
    (told,) = node.job("note-choice.js", "follow", view(text="quarter-flat D5"), [])
    assert told["words"] == "D quarter-flat 5"
    # B-flat soprano at A = 442: D5 - 50 sounds at 7150 cents, 442 * 2 ** (250 / 1200) Hz.
    assert told["hz"] == pytest.approx(442 * 2 ** (250 / 1200))
    (told,) = node.job("note-choice.js", "follow", view(text="no note"), [])
    assert told["words"] == "B4"


def test_a_sign_is_stepped_through_the_system_and_leaves_the_cents(node: Node) -> None:
    moves = [("nudged", 5), ("resigned", 1), ("nudged", 1), ("resigned", -2), ("resigned", -99)]
    told = node.job("note-choice.js", "follow", view(text="D5"), moves)
    assert [each["words"] for each in told] == [
        "D5",
        "D5, 5 cents higher",
        "D quarter-sharp 5",
        "D quarter-sharp 5, 1 cent higher",
        "D quarter-flat 5",
        "D double flat 5",
    ]
    assert told[3]["kept"] == "D#5-49c~50"
    assert told[1]["kept"] == ""


def test_the_range_of_the_instrument_is_told_beyond_its_ends(node: Node) -> None:
    moves = [("atEnd", "low"), ("moved", -1), ("atEnd", "high"), ("moved", 1), ("moved", 99)]
    told = node.job("note-choice.js", "follow", view(), moves)
    beyond = [each["beyond"] for each in told]
    assert beyond[:2] == ["", ""]
    assert beyond[2] == "Below the lowest note, E3."
    assert beyond[3] == ""
    assert beyond[4] == beyond[5] == "Above the ordinary range, which ends at G6."
    assert told[5]["words"] == "C7"


def test_no_alteration_leaves_what_can_be_written(node: Node) -> None:
    moves = [("resigned", 99), *[("nudged", 25)] * 5, ("resigned", -99), *[("nudged", -25)] * 5]
    told = node.job("note-choice.js", "follow", view(text="D5"), moves)
    assert all(isinstance(parse_pitch(each["text"]), WrittenPitch) for each in told)
    assert max(each["cents"] for each in told) - told[0]["cents"] == 250
    assert told[0]["cents"] - min(each["cents"] for each in told) == 250


def test_ledger_lines_and_steps_are_those_of_the_servers_staff(node: Node) -> None:
    steps = list(range(-9, 20))
    told = node.job("note-choice.js", "placeOnStaff", steps, [120 - 5 * step for step in steps])
    assert [set(each) for each in told["ledgers"]] == [set(ledger_steps(step)) for step in steps]
    assert told["steps"] == steps
