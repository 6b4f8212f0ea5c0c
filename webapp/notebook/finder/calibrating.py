"""The first day: ordinary notes and simple cross-fingerings to record, and what they gained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.keywork import (
    KeyStates,
    describe_changes,
    find_changes,
    format_fingering,
    hole_signature,
    list_first_day,
)
from analysis.pitch import WrittenPitch, register_of
from webapp.notebook.finder.finder_evidence import collect_evidence, model_of
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, Ready, ResultCache, Working
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.bases import StartingPoint, from_ordinary

if TYPE_CHECKING:
    from analysis.finder import ErrorReduction

PATIENCE_S = 0.05  # the notes to record are there at once; what was gained may come later
CROSS_FINGERINGS = "Cross-fingerings"
# A cross-fingering counts for whatever note near its own it was logged.
CROSS_REACH_CENTS = 100


@dataclass(frozen=True, slots=True)
class AskedNote:
    """What to record: a note with its keys, the ordinary fingering that they come from, its entry.

    For an ordinary note the keys are those of `base`; a cross-fingering adds a key to them.
    """

    written: WrittenPitch
    keys: KeyStates
    base: StartingPoint
    fingering: Fingering | None = None

    @property
    def is_cross(self) -> bool:
        """Whether it is a cross-fingering."""
        return self.keys != self.base.keys

    @property
    def changes_words(self) -> str:
        """What a cross-fingering adds to its base."""
        return describe_changes(find_changes(self.base.keys, self.keys))

    @property
    def is_measured(self) -> bool:
        """Whether a usable take stands behind it."""
        return self.fingering is not None and self.fingering.is_measured


@dataclass(frozen=True, slots=True)
class CalibrationPage:
    """What the first day asks for, by register and then crossed, and what was gained so far.

    The gain is there if it is known.
    """

    instrument: Instrument
    groups: tuple[tuple[str, tuple[AskedNote, ...]], ...]
    measured_count: int
    asked_count: int
    gain: ErrorReduction | None = None
    working: Working | None = None
    failed: Failed | None = None


def open_calibration(
    notebook: Notebook, result_cache: ResultCache, instrument_id: int
) -> CalibrationPage:
    """Return the notes of the first day; once one is measured, also what they gained.

    Raises:
        NotInNotebook: no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        evidence = collect_evidence(session, instrument)
        notes = find_asked_notes(session, instrument)
    groups = groupby(notes, key=lambda note: _name_group(note, instrument))
    named = tuple((name, tuple(members)) for name, members in groups)
    measured = sum(note.is_measured for note in notes)
    if not measured:
        return CalibrationPage(instrument, named, measured, len(notes))
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=PATIENCE_S)
    return CalibrationPage(
        instrument,
        named,
        measured,
        len(notes),
        gain=outcome.value.gain if isinstance(outcome, Ready) else None,
        working=outcome if isinstance(outcome, Working) else None,
        failed=outcome if isinstance(outcome, Failed) else None,
    )


def find_asked_notes(session: Session, instrument: Instrument) -> list[AskedNote]:
    """Return what the first day asks for, each with its entry where there is one."""
    return _find_all(session, instrument, choose_notes(instrument))


def choose_notes(instrument: Instrument) -> tuple[AskedNote, ...]:
    """Choose what to record first, in the notation of the instrument's parts."""
    return tuple(
        AskedNote(
            instrument.kind.from_treble_notation(one.written),
            one.fingering,
            from_ordinary(one.base, instrument),
        )
        for one in list_first_day(instrument.layout)
    )


def _name_group(note: AskedNote, instrument: Instrument) -> str:
    if note.is_cross:
        return CROSS_FINGERINGS
    return register_of(instrument.kind.in_treble_notation(note.written)).value.capitalize()


def _find_all(
    session: Session, instrument: Instrument, notes: Sequence[AskedNote]
) -> list[AskedNote]:
    """Find for each note its entry with the most takes, the oldest of several: one query."""
    query = (
        select(Fingering)
        .where(
            Fingering.instrument_id == instrument.id,
            Fingering.hole_signature.in_({hole_signature(note.keys) for note in notes}),
            Fingering.keys_text.in_({format_fingering(note.keys) for note in notes}),
            Fingering.deleted_at.is_(None),
        )
        .order_by(Fingering.take_count.desc(), Fingering.id)
    )
    by_keys: dict[str, list[Fingering]] = {}
    for row in session.scalars(query):
        by_keys.setdefault(row.keys_text, []).append(row)
    return [
        replace(note, fingering=_choose(note, by_keys.get(format_fingering(note.keys), [])))
        for note in notes
    ]


def _choose(note: AskedNote, rows: Sequence[Fingering]) -> Fingering | None:
    reach, written = CROSS_REACH_CENTS if note.is_cross else 0, float(note.written.cents)
    return next((row for row in rows if abs(row.written_cents - written) <= reach), None)
