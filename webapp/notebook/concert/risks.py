"""Warm-up list of a piece: its riskiest notes by evidence, then exposure, then register. Pure.

Evidence comes first: a note that is open is riskier than one that was never tried, and that riskier
than one that lies apart or is known by one take. Of equal evidence what is held, a just interval or
asked at pp comes first; then the altissimo, then the throat notes (common practice, from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from analysis.pitch import Register, register_of
from webapp.notebook.pieces.needs import Closeness
from webapp.notebook.pieces.softness import is_soft
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.store.rows import Instrument, Settlement
from webapp.notebook.targets.standing import Standing

WARM_UP_AT_MOST = 12
_KNOWN = 5
_REGISTERS = {Register.ALTISSIMO: 0, Register.THROAT: 1}


@dataclass(frozen=True, slots=True)
class RiskyNote:
    """A note to warm up with, and why, in a few words, the weightiest first."""

    todo: TodoNote
    instrument: Instrument
    reasons: tuple[str, ...]


def list_risks(
    judged: Iterable[tuple[Instrument, Iterable[TodoNote]]], *, has_lengths: bool
) -> tuple[RiskyNote, ...]:
    """Return the riskiest notes of a piece on its instruments, the riskiest first.

    What is well known or left out is not among them. Without `has_lengths` nothing is known of how
    long or how soft a note is.
    """
    found = []
    for instrument, notes in judged:
        for note in notes:
            evidence, known_by = _find_evidence(note)
            is_left_out = note.settled is not None and note.settled.how == Settlement.LEAVE_OUT
            if evidence == _KNOWN or is_left_out:
                continue
            exposure, asked = _find_exposure(note) if has_lengths else (1, "")
            register = register_of(instrument.kind.in_treble_notation(note.need.written))
            rank = (evidence, exposure, _REGISTERS.get(register, len(_REGISTERS)))
            words = (known_by, asked, register.value if register in _REGISTERS else "")
            reasons = tuple(filter(None, words))
            found.append((rank, note.need.bars, RiskyNote(note, instrument, reasons)))
    found.sort(key=lambda each: each[:2])
    return tuple(each for _, _, each in found[:WARM_UP_AT_MOST])


def _find_evidence(note: TodoNote) -> tuple[int, str]:
    """Return how little is known of what is played for a note, least first, in a word or two."""
    best = note.best
    if best is None:
        return 0, "open"
    if best.standing is Standing.NOT_TRIED:
        return 1, "not tried"
    if best.standing is not Standing.IN_TUNE:
        return 2, best.standing.value
    uncertainty = best.facts.uncertainty_cents
    if note.softly is not None and not note.softly.is_proven:
        return 3, "no take at pp"
    if uncertainty is not None and uncertainty > note.answer.note.tolerance_cents:
        return 3, "not known closely"
    return (4, "one take") if best.facts.take_count == 1 else (_KNOWN, "")


def _find_exposure(note: TodoNote) -> tuple[int, str]:
    if note.need.closeness <= Closeness.HELD:
        return 0, note.need.closeness.words
    if is_soft(note.need):
        return 0, "soft"
    return (2, "") if note.need.closeness is Closeness.SHORT else (1, "")
