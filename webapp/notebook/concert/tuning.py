"""A new tuning A: how far the barrel moves, and how unevenly the notes follow it. Pure.

The barrel is set so that the tuning note (concert A, written as the instrument writes it) is in
tune with the new A; every other note follows by the formula of the closed cylinder
(`analysis.day.barrel_pull`), so high resonances come along by less. What is said of a note is
expected, not measured.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from analysis.day.barrel_pull import find_pull_effect
from analysis.pitch import WrittenPitch, register_of
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.store.rows import Instrument

LOWEST_A_HZ, HIGHEST_A_HZ = 380.0, 480.0
_CONCERT_A_CENTS, _OCTAVE_CENTS = Fraction(6900), 1200
_HIGHEST_TUNING_NOTE = Fraction(7850)


@dataclass(frozen=True, slots=True)
class TunedNote:
    """A note whose offset is another with the new A: before and after, in cents."""

    todo: TodoNote
    before_cents: float
    after_cents: float

    @property
    def is_in_tune_then(self) -> bool:
        """Whether it is expected to be in tune then."""
        return abs(self.after_cents) <= self.todo.answer.note.tolerance_cents


@dataclass(frozen=True, slots=True)
class NewTuning:
    """Effects of another A on an instrument.

    `shift_cents` is how far all has to rise (fall below 0), `push_mm` how far the barrel goes in
    (out below 0), `notes` those that leave their tolerance by it, or come into it.
    """

    instrument: Instrument
    a_hz: float
    shift_cents: float
    push_mm: float
    notes: tuple[TunedNote, ...]


def find_new_tuning(instrument: Instrument, notes: tuple[TodoNote, ...], a_hz: float) -> NewTuning:
    """Say what a tuning A of `a_hz`, from 380 to 480, changes for the notes of a piece."""
    shift = _OCTAVE_CENTS * math.log2(a_hz / instrument.tuning_a_hz)
    push = shift / _effect(instrument, _tuning_note(instrument))
    changed = []
    for note in notes:
        before = note.best.offset_cents if note.best is not None else None
        if before is None:
            continue
        after = before + push * _effect(instrument, note.need.written) - shift
        tolerance = note.answer.note.tolerance_cents
        if (abs(before) <= tolerance) != (abs(after) <= tolerance):
            changed.append(TunedNote(note, before, after))
    return NewTuning(instrument, a_hz, shift, push, tuple(changed))


def _tuning_note(instrument: Instrument) -> WrittenPitch:
    cents = _CONCERT_A_CENTS - instrument.transposition_cents
    while cents > _HIGHEST_TUNING_NOTE:
        cents -= _OCTAVE_CENTS
    return WrittenPitch.from_cents(cents)


def _effect(instrument: Instrument, written: WrittenPitch) -> float:
    """How far 1 mm of barrel moves a note, in cents."""
    register = register_of(instrument.kind.in_treble_notation(written))
    sounding = instrument.transposition.to_sounding(written)
    return find_pull_effect(sounding.hz(instrument.tuning), register)
