"""Entries of the demo: its instruments and fingerings, logged as a player would, in one go."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import NoteNames
from webapp.notebook.demo.story import DemoFingering, DemoInstrument
from webapp.notebook.fingerings.fingerings import FingeringDraft, add_fingering
from webapp.notebook.instruments.instruments import InstrumentDraft, keep_instrument
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument


@dataclass(frozen=True, slots=True)
class Logged:
    """A fingering of the story, and the numbers of it and of its instrument in the notebook."""

    fingering_id: int
    fingering: DemoFingering
    instrument: DemoInstrument
    instrument_id: int


def log_story(notebook: Notebook, story: Sequence[DemoInstrument]) -> tuple[Logged, ...]:
    """Log every fingering of the story in the order of its dates, all in one transaction."""
    with notebook.database.writing() as session:
        added = [(each, _add_instrument(session, each)) for each in story]
        entries = sorted(
            ((fingering, *owner) for owner in added for fingering in owner[0].fingerings),
            key=lambda entry: entry[0].logged_at,
        )
        rows: dict[str, Fingering] = {}
        for fingering, instrument, owner in entries:
            if fingering.is_from_logged and rows[fingering.base].id is None:
                session.flush()  # what it came from has its number then
            draft = _draft(fingering, instrument, rows)
            row = add_fingering(session, owner, draft, NoteNames.ENGLISH)
            row.created_at = row.updated_at = fingering.logged_at
            rows[fingering.name] = row
        session.flush()
        return tuple(
            Logged(rows[fingering.name].id, fingering, instrument, owner.id)
            for fingering, instrument, owner in entries
        )


def _add_instrument(session: Session, instrument: DemoInstrument) -> Instrument:
    draft = InstrumentDraft(
        name=instrument.name,
        kind_id=instrument.kind,
        layout_id=instrument.layout,
        tuning_a_hz=instrument.tuning_a_hz,
        mouthpiece=instrument.mouthpiece,
        reed=instrument.reed,
        barrel=instrument.barrel,
        notes=instrument.notes,
    )
    row = keep_instrument(session, draft)
    row.created_at = row.updated_at = instrument.fingerings[0].logged_at
    return row


def _draft(
    fingering: DemoFingering, instrument: DemoInstrument, rows: Mapping[str, Fingering]
) -> FingeringDraft:
    base = f"logged:{rows[fingering.base].id}" if fingering.is_from_logged else fingering.base
    return FingeringDraft(
        keys=parse_fingering(fingering.keys, load_layout(instrument.layout)),
        target=fingering.target,
        strategy=fingering.strategy,
        base=base,
        resistance=fingering.resistance,
        resistance_notes=fingering.resistance_notes,
        notes=fingering.notes,
        tags=fingering.tags,
        does_not_speak=fingering.does_not_speak,
    )
