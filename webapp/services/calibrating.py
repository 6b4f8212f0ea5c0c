"""The first day: about ten ordinary notes across the registers, and what they gained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.keywork import format_fingering
from analysis.pitch import Register, register_of
from webapp.models import Fingering, Instrument
from webapp.notebook import Notebook
from webapp.services.bases import Base, ordinary_bases
from webapp.services.finder_evidence import collect_evidence, model_of
from webapp.services.finding_rows import fetch
from webapp.workshop import Failed, Ready, Working, Workshop

if TYPE_CHECKING:
    from analysis.finder import Calibration

NOTES_ASKED = 10
FIRST_CHOICE = ":1"


@dataclass(frozen=True, slots=True)
class AskedNote:
    """An ordinary note to record, and its entry if it is logged."""

    base: Base
    fingering: Fingering | None

    @property
    def is_measured(self) -> bool:
        """Whether a usable take stands behind it."""
        return self.fingering is not None and self.fingering.is_proven


@dataclass(frozen=True, slots=True)
class CalibrationPage:
    """The notes of the first day by register, and what was gained so far, if that is known."""

    instrument: Instrument
    groups: tuple[tuple[Register, tuple[AskedNote, ...]], ...]
    measured_count: int
    asked_count: int
    gain: Calibration | None = None
    working: Working | None = None
    failed: Failed | None = None


def open_calibration(notebook: Notebook, workshop: Workshop, instrument_id: int) -> CalibrationPage:
    """Return the notes of the first day; once one is measured, also what they gained.

    Raises:
        NotInNotebook: no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        evidence = collect_evidence(session, instrument)
        notes = [_find(session, instrument, base) for base in choose_notes(instrument)]
    groups = groupby(notes, key=lambda note: _register(note.base, instrument))
    by_register = tuple((register, tuple(members)) for register, members in groups)
    measured = sum(note.is_measured for note in notes)
    if not measured:
        return CalibrationPage(instrument, by_register, measured, len(notes))
    outcome = model_of(notebook, workshop, instrument, evidence)
    return CalibrationPage(
        instrument,
        by_register,
        measured,
        len(notes),
        gain=outcome.value.gain if isinstance(outcome, Ready) else None,
        working=outcome if isinstance(outcome, Working) else None,
        failed=outcome if isinstance(outcome, Failed) else None,
    )


def choose_notes(instrument: Instrument, *, count: int = NOTES_ASKED) -> tuple[Base, ...]:
    """Choose ordinary notes: every register has its share, spread evenly from low to high.

    A share is by the number of notes in the register, and at least one.
    """
    first = [base for base in ordinary_bases(instrument) if base.reference.endswith(FIRST_CHOICE)]
    first.sort(key=lambda base: base.written.cents)
    groups = [
        list(members) for _, members in groupby(first, key=lambda base: _register(base, instrument))
    ]
    return tuple(
        base
        for members in groups
        for base in _spread(members, max(1, round(count * len(members) / len(first))))
    )


def _spread(members: Sequence[Base], count: int) -> list[Base]:
    places = [int((place + 0.5) * len(members) / count) for place in range(count)]
    return [members[place] for place in places]


def _register(base: Base, instrument: Instrument) -> Register:
    return register_of(instrument.kind.in_treble_notation(base.written))


def _find(session: Session, instrument: Instrument, base: Base) -> AskedNote:
    query = (
        select(Fingering)
        .where(
            Fingering.instrument_id == instrument.id,
            Fingering.keys_text == format_fingering(base.keys),
            Fingering.written_cents == float(base.written.cents),
            Fingering.deleted_at.is_(None),
        )
        .order_by(Fingering.take_count.desc(), Fingering.id)
    )
    return AskedNote(base, session.scalars(query.limit(1)).first())
