"""Words of what a player has: a trill in a cell and in full, and how to read both tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pitch import Sentence, WrittenPitch
from webapp.notebook.store.rows import Instrument

if TYPE_CHECKING:
    from analysis.planning import TrillStep

SEMITONES = (
    "Semitones count as ordinary and are listed only where something is measured for them. Cents "
    "are from the written note."
)
HOW_TO_READ = (
    "1: one finger does it. 2, 3, ...: so many fingers together. slide: a finger slides from key "
    "to key. hard: awkward, so only slowly. –: nothing known. Intervals in cents, upwards. Bold: "
    "both notes are measured or ordinary; else one has not been tried. How the hands move is "
    "judgement, not measured."
)
_SLIDE, _HARD, _NONE = "slide", "hard", "–"


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
