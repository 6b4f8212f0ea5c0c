"""Calibration notes: the ordinary fingerings, by which a tube is calibrated and judged.

Equal temperament at A4 = 440 Hz stands for the truth: what a player expects of a good
instrument (common practice, from memory), no measurement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.acoustics.geometry import Geometry
from analysis.acoustics.resonances import encode_states, find_resonances
from analysis.acoustics.transfer_matrices import Real
from analysis.acoustics.tube_model import States, TubeModel
from analysis.keywork import KeyStates, Layout, ordinary_fingerings
from analysis.pitch import Register, WrittenPitch, register_of

ALTERNATES = "alternates"


@dataclass(frozen=True, slots=True)
class OrdinaryNote:
    """An ordinary fingering with the resonance that it is played on.

    `group` is its register, or `ALTERNATES` for a second or third choice.
    """

    written: WrittenPitch
    fingering: KeyStates
    number: int
    group: str


def list_notes(layout: Layout) -> tuple[OrdinaryNote, ...]:
    """List the ordinary fingerings of a layout, each hole state and resonance once.

    Of the altissimo only the usual ones: others may speak on a resonance above the third.
    """
    notes: dict[tuple[bytes, int], OrdinaryNote] = {}
    for ordinary in ordinary_fingerings(layout):
        register = register_of(ordinary.written)
        if register is Register.ALTISSIMO and ordinary.choice > 1:
            continue
        number = {Register.CLARION: 2, Register.ALTISSIMO: 3}.get(register, 1)
        group = ALTERNATES if ordinary.choice > 1 else str(register)
        note = OrdinaryNote(ordinary.written, ordinary.fingering, number, group)
        notes.setdefault((encode_states(ordinary.fingering).tobytes(), number), note)
    return tuple(notes.values())


def split_altissimo(
    notes: Sequence[OrdinaryNote],
) -> tuple[tuple[OrdinaryNote, ...], tuple[OrdinaryNote, ...]]:
    """Part the notes that a tube is calibrated by from the altissimo, which never is."""
    calibrating = tuple(note for note in notes if note.group != Register.ALTISSIMO)
    return calibrating, tuple(note for note in notes if note.group == Register.ALTISSIMO)


def stack_states(notes: Sequence[OrdinaryNote]) -> States:
    """Write the hole states of notes, shape (notes, holes)."""
    return np.array([encode_states(note.fingering) for note in notes])


def find_targets(notes: Sequence[OrdinaryNote], geometry: Geometry) -> Real:
    """Find where notes should sound, in sounding cents, shape (notes,)."""
    written = np.array([float(note.written.cents) for note in notes])
    return written + geometry.treble_transposition_cents


def find_notes(model: TubeModel, notes: Sequence[OrdinaryNote]) -> Real:
    """Find where notes sound, in sounding cents, shape (notes,); not-a-number if nowhere."""
    found = find_resonances(model, stack_states(notes))
    return found[np.arange(len(notes)), [note.number - 1 for note in notes]]


def find_errors(model: TubeModel, notes: Sequence[OrdinaryNote]) -> Real:
    """Find how far notes are from equal temperament, in cents, shape (notes,)."""
    return find_notes(model, notes) - find_targets(notes, model.geometry)


def find_rms(notes: Sequence[OrdinaryNote], errors: Real) -> dict[str, float]:
    """Find the root mean square of errors for each group of notes; `errors` of shape (notes,)."""
    groups = dict.fromkeys(note.group for note in notes)
    members = {group: [note.group == group for note in notes] for group in groups}
    return {g: float(np.sqrt(np.mean(errors[inside] ** 2))) for g, inside in members.items()}
