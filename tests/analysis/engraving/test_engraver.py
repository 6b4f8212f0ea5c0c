"""Engraved lines: every note in the picture, room for signs, the same picture twice."""

from __future__ import annotations

import random
import re
from fractions import Fraction
from typing import Any

import pytest

from analysis.engraving import (
    EngraverFault,
    LineBar,
    LineNote,
    NoteLine,
    NoteRoom,
    SignRoom,
    engrave,
    engraver,
)
from analysis.engraving.mei_line import write_mei


def note(key: str, onset: str, duration: str, letter: str = "D", **more: Any) -> LineNote:
    made = {"signs": (SignRoom.NONE,), "places": ((letter, 5),), **more}
    return LineNote(key=key, onset=Fraction(onset), duration=Fraction(duration), **made)


LINE = NoteLine(
    (
        LineBar(
            Fraction(3),
            (
                note("n0", "0", "0", "E"),
                note("n1", "0", "1/4", signs=(SignRoom.ONE,), room=NoteRoom.DRAWING),
                note("n2", "1/4", "3/4", "F", is_slurred=True, articulations=("staccato",)),
                note("n3", "1", "1/3", "G", mark="trill", dynamic="pp"),
                note("n4", "5/3", "1/3", "A", signs=(SignRoom.TWO,), figure="+16"),
                note("n5", "2", "2", "B", has_fermata=True),
            ),
            "12",
        ),
        LineBar(
            Fraction(3),
            (note("n6", "1", "1/17"), note("n7", "2", "1", signs=(SignRoom.NONE,) * 2,
                                           places=(("C", 5), ("A", 5)))),
            "X1",
        ),
    )
)  # fmt: skip


def test_every_note_and_every_bar_stands_in_the_picture() -> None:
    (system,) = engrave(LINE, width_mm=180)
    for key in ("n0", "n1", "n2", "n3", "n4", "n5", "n6", "n7"):
        assert re.search(f'<g id="{key}" class="(note|chord)', system), key
    assert system.count('class="accid"') == 2
    for text in ("12", "X1", "+16"):
        assert f">{text}<" in system
    for kind in ("slur", "trill", "fermata", "tuplet", "beam", "verse", "artic", "dynam"):
        assert f'class="{kind}' in system, kind


def test_a_note_across_a_bar_line_is_tied_and_has_its_sign_once() -> None:
    mei = write_mei(LINE)
    assert 'startid="#n5" endid="#n5t1"' in mei


def test_the_same_line_gives_the_same_picture_and_a_narrow_page_more_systems() -> None:
    assert engrave(LINE, width_mm=180) == engrave(LINE, width_mm=180)
    assert len(engrave(LINE, width_mm=45)) == 2


def random_line(seed: int) -> NoteLine:
    """Bars of odd lengths with durations of every kind, gaps, graces and chords."""
    chance = random.Random(seed)
    bars = []
    for number in range(chance.randint(1, 6)):
        length, at = Fraction(chance.choice(["4", "3", "7/2", "5/8", "1/3", "11/4"])), Fraction(0)
        notes: list[LineNote] = []
        while at < length and len(notes) < 20:
            lasts = Fraction(chance.choice(["0", "1/4", "1/3", "2/5", "1/7", "5/4", "1/11", "9"]))
            places = tuple(
                (chance.choice("CDEFGAB"), chance.randint(3, 6))
                for _ in range(chance.choice([1, 1, 2]))
            )
            notes.append(
                LineNote(
                    f"b{number}n{len(notes)}", at, lasts, places,
                    tuple(chance.choice(list(SignRoom)) for _ in places),
                    chance.choice(list(NoteRoom)), chance.random() < 0.4,
                    chance.choice([(), ("staccato",)]), chance.choice(["", "pp"]),
                    chance.choice(["", "trill", "tremolo"]),
                )
            )  # fmt: skip
            at += lasts + Fraction(chance.choice(["0", "0", "1/2", "1/3"]))
        bars.append(LineBar(length, tuple(notes), str(number + 1)))
    return NoteLine(tuple(bars), chance.choice(["treble", "bass"]))


@pytest.mark.parametrize(
    "seed", [*range(6), *(pytest.param(each, marks=pytest.mark.long_run) for each in range(6, 300))]
)
def test_whatever_rhythm_comes_every_note_is_engraved(seed: int) -> None:
    line = random_line(seed)
    systems = "".join(engrave(line, width_mm=183))
    for bar in line.bars:
        assert all(f'id="{each.key}"' in systems for each in bar.notes)


def test_an_engraver_that_fails_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engraver, "write_mei", lambda line: "no notation")
    with pytest.raises(EngraverFault, match="bar by bar"):
        engrave(LINE, width_mm=180)
