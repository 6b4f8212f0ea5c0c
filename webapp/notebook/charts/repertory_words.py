"""Words of what a player has: a trill in a cell and in full, and how to read both tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pitch import Sentence, WrittenPitch
from webapp.notebook.store.rows import Instrument

if TYPE_CHECKING:
    from analysis.planning import TrillStep

ABOUT_STEPS = (
    "Semitones count as ordinary and are listed only where something is measured for them. Cents, "
    "100 to a semitone, say how far from the written note it sounded. A dynamic that is not named "
    "was not recorded; the note may speak there all the same. Resistance: how much breath it asks "
    "for, from 1 free to 5. Half-hole: a finger covers half of its hole, so not fast."
)
ABOUT_OPEN = "No fingering is known for these yet: ask before you write them."
HOW_TO_READ = (
    "Upwards from the note at the left. 1: one finger does it. 2, 3, ...: so many at once. "
    "slide: a finger slides from key to key. hard: awkward, so only slowly. –: nothing known, so "
    "ask. Bold: both notes are measured or ordinary; else one has not been tried. How the hands "
    "move is judgement, not measured."
)
_INTERVALS = {
    50: "quarter tone",
    100: "semitone",
    150: "three quarter tones",
    200: "whole tone",
    250: "five quarter tones",
    300: "minor third",
}
_SLIDE, _HARD, _NONE = "slide", "hard", "–"


def name_interval(cents: int) -> str:
    """Name an interval in words, '' where it has no usual name."""
    return _INTERVALS.get(cents, "")


def write_cell(step: TrillStep) -> str:
    """Write how a trill goes, for a cell of a table."""
    from analysis.planning import TrillGrade

    if step.pair is None:
        return _NONE
    if step.grade is TrillGrade.AWKWARD:
        return _HARD
    count = step.pair.cost.finger_count
    return _SLIDE if count == 1 and step.grade is TrillGrade.CARE else str(count)


def is_bold(step: TrillStep) -> bool:
    """Whether a trill stands out in a table: it goes well, and both of its notes are known."""
    return step.is_measured and write_cell(step) != _HARD


def say_trill(step: TrillStep) -> Sentence:
    """Say how a trill goes, in full."""
    notes = Sentence(step.lower, " to ", step.upper, ": ")
    if step.pair is None or step.grade is None:
        return Sentence(notes, "nothing known")
    count = step.pair.cost.finger_count
    fingers = "" if count == 1 else f", {count} fingers"
    evidence = "" if step.is_measured else ", not tried"
    return Sentence(notes, f"{step.grade.value}{fingers}{evidence}")


def say_transposition(instrument: Instrument) -> Sentence:
    """Say how what is written for an instrument sounds."""
    c5 = WrittenPitch.from_canonical("C5")
    sounding = WrittenPitch.from_cents(instrument.transposition.to_sounding(c5).cents)
    return Sentence("All notes are written for this instrument: ", c5, " sounds ", sounding, ".")
