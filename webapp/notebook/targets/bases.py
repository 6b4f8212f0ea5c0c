"""The fingering that another one came from: an ordinary one of the layout, or one in the notebook.

A base is named in forms and addresses by a short reference: ``ordinary:E5:1`` (written pitch and
which of the ordinary choices for it) or ``logged:12`` (the number of a fingering in the notebook).
``kept`` names the one a fingering has, where neither the layout nor the notebook holds it any more.
A fingering keeps its base as it was when it was chosen, whatever becomes of the other one.
Layouts speak treble notation; here everything is written as this instrument's parts are.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import (
    KeyStates,
    OrdinaryFingering,
    neighbours,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import WrittenPitch
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import read_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument

KEPT = "kept"


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """A fingering to start from."""

    reference: str
    written: WrittenPitch
    keys: KeyStates
    remark: str = ""
    fingering_id: int | None = None


def find_base(session: Session, instrument: Instrument, reference: str) -> StartingPoint | None:
    """Return the base that a reference names; an empty reference names none.

    Raises:
        FieldRefused: the reference names nothing on this instrument.
    """
    if not reference:
        return None
    kind, _, rest = reference.partition(":")
    found = (
        _find_logged(session, instrument, rest)
        if kind == "logged"
        else _find_ordinary(instrument, reference)
    )
    if found is None:
        raise FieldRefused(
            "base",
            "The fingering this one should start from is not there on this instrument. "
            "Choose one of the list, or none.",
        )
    return found


def open_base(notebook: Notebook, instrument: Instrument, reference: str) -> StartingPoint | None:
    """Return the base that a reference names, in a transaction of its own."""
    with notebook.database.reading() as session:
        return find_base(session, instrument, reference)


def reference_of(fingering: Fingering) -> str:
    """Return the reference of the base a logged fingering came from, or an empty text."""
    if fingering.base_id is not None:
        return f"logged:{fingering.base_id}"
    keys, written = fingering.base_key_states(), fingering.base_written
    if keys is None:
        return ""
    found = (
        base.reference
        for base in ordinary_bases(fingering.instrument)
        if base.keys == keys and base.written == written
    )
    return next(found, KEPT)


def kept_base(fingering: Fingering) -> StartingPoint | None:
    """Return the base of a fingering as it was when it was chosen."""
    keys, written = fingering.base_key_states(), fingering.base_written
    if keys is None or written is None:
        return None
    remark = fingering.base_keys_text or ""
    return StartingPoint(reference_of(fingering), written, keys, remark, fingering.base_id)


def neighbour_bases(
    instrument: Instrument, written: WrittenPitch
) -> tuple[StartingPoint | None, StartingPoint | None]:
    """Return the ordinary fingerings next below and next above a written pitch."""
    below, above = neighbours(instrument.layout, instrument.kind.in_treble_notation(written))
    return (
        from_ordinary(below, instrument) if below else None,
        from_ordinary(above, instrument) if above else None,
    )


def ordinary_bases(instrument: Instrument) -> Iterator[StartingPoint]:
    """Go through the ordinary fingerings of an instrument, in the notation of its parts."""
    for each in ordinary_fingerings(instrument.layout):
        yield from_ordinary(each, instrument)


def from_ordinary(each: OrdinaryFingering, instrument: Instrument) -> StartingPoint:
    """Return an ordinary fingering as a base, in the notation of the instrument's parts."""
    written = instrument.kind.from_treble_notation(each.written)
    reference = f"ordinary:{written.canonical}:{each.choice}"
    return StartingPoint(reference, written, each.fingering, each.remark)


def from_logged(row: Fingering, instrument: Instrument) -> StartingPoint:
    """Return a logged fingering as a base."""
    keys = parse_fingering(row.keys_text, instrument.layout)
    return StartingPoint(f"logged:{row.id}", row.written, keys, row.keys_text, row.id)


def _find_ordinary(instrument: Instrument, reference: str) -> StartingPoint | None:
    bases = ordinary_bases(instrument)
    return next((base for base in bases if base.reference == reference), None)


def _find_logged(session: Session, instrument: Instrument, number: str) -> StartingPoint | None:
    row = session.get(Fingering, read_row_number(number))
    if row is None or row.instrument_id != instrument.id:
        return None
    try:
        return from_logged(row, instrument)
    except AnalysisError:
        return None
