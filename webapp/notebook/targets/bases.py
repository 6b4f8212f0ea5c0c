"""The fingering that another one came from: an ordinary one of the layout, or one in the notebook.

A base is named in forms and addresses by a short reference: ``ordinary:E5:1`` (written pitch and
which of the ordinary choices for it) or ``logged:12`` (the number of a fingering in the notebook).
``kept`` names the one a fingering has, where neither the layout nor the notebook holds it any more.
A fingering keeps its base as it was when it was chosen, whatever becomes of the other one.
Layouts speak treble notation; here everything is written as this instrument's parts are.

A fingering that the player calls mine for a note of the chromatic scale is the player's own
ordinary one: it stands in place of those of the layout. Above them the layout may have fingerings
to try, which are no ordinary ones; they are named as those are.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import (
    KeyStates,
    OrdinaryFingering,
    fingerings_to_try,
    format_fingering,
    ordinary_fingerings,
    parse_fingering,
)
from analysis.pitch import WrittenPitch
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import read_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Choice, Circumstance, Fingering, Instrument, Role

KEPT = "kept"
_SEMITONE_CENTS = 100
# A note that is to be tried for is one so near to what is asked for; above them all, the highest.
_TO_TRY_WITHIN_CENTS = Fraction(100)


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """A fingering to start from."""

    reference: str
    written: WrittenPitch
    keys: KeyStates
    remark: str = ""
    fingering_id: int | None = None
    is_to_try: bool = False


OwnOrdinary = Mapping[Fraction, StartingPoint]
"""How the player plays notes of the chromatic scale, by their written cents."""


def own_ordinary(session: Session, instrument: Instrument) -> OwnOrdinary:
    """Return the player's own ordinary fingerings; those whose keys can't be read are left out."""
    query = (
        select(Choice.written_exact, Fingering)
        .join(Fingering, Fingering.id == Choice.fingering_id)
        .where(
            Choice.instrument_id == instrument.id,
            Choice.role == Role.MINE.value,
            Choice.circumstance == Circumstance.ALWAYS.value,
            Fingering.deleted_at.is_(None),
            Fingering.does_not_speak.is_(False),
        )
    )
    found: dict[Fraction, StartingPoint] = {}
    for exact, row in session.execute(query):
        cents = Fraction(exact)
        if cents % _SEMITONE_CENTS == 0:
            try:
                keys = parse_fingering(row.keys_text, instrument.layout)
            except AnalysisError:
                continue
            is_meant = row.written.cents == cents
            written = row.written if is_meant else WrittenPitch.from_cents(cents)
            reference = f"logged:{row.id}"
            found[cents] = StartingPoint(reference, written, keys, row.keys_text, row.id)
    return dict(sorted(found.items()))


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
        for base in listed_bases(fingering.instrument)
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
    instrument: Instrument, written: WrittenPitch, own: OwnOrdinary
) -> tuple[StartingPoint | None, StartingPoint | None]:
    """Return the ordinary fingerings next below and next above a written pitch.

    Where the player plays a note otherwise (`own_ordinary`) that one stands for it.
    """
    usual = (
        from_ordinary(each, instrument)
        for each in ordinary_fingerings(instrument.layout)
        if each.choice == 1
    )
    known = {each.written.cents: each for each in usual} | dict(own)
    below = max((cents for cents in known if cents < written.cents), default=None)
    above = min((cents for cents in known if cents > written.cents), default=None)
    return (
        None if below is None else known[below],
        None if above is None else known[above],
    )


def bases_to_try(
    instrument: Instrument, written: WrittenPitch, own: OwnOrdinary
) -> tuple[StartingPoint, ...]:
    """Return what is worth trying for a note above all that is ordinary, the nearest notes first.

    Notes of one distance stand with the lower first; above them all it is the highest that there
    is. Nothing for a note with an ordinary one above it, or that is ordinary itself.
    """
    ordinary = (each.written.cents for each in ordinary_bases(instrument))
    if any(cents >= written.cents for cents in (*ordinary, *own)):
        return ()
    found = [from_ordinary(each, instrument) for each in fingerings_to_try(instrument.layout)]
    found.sort(key=lambda each: abs(each.written.cents - written.cents))
    distances = [abs(each.written.cents - written.cents) for each in found]
    reach = max([_TO_TRY_WITHIN_CENTS, *distances[:1]])
    return tuple(each for each, distance in zip(found, distances, strict=True) if distance <= reach)


def ordinary_bases(instrument: Instrument) -> Iterator[StartingPoint]:
    """Go through the ordinary fingerings of an instrument, in the notation of its parts."""
    for each in ordinary_fingerings(instrument.layout):
        yield from_ordinary(each, instrument)


def listed_bases(instrument: Instrument) -> Iterator[StartingPoint]:
    """Go through all fingerings that the layout lists: the ordinary ones, then those to try."""
    for each in _listed(instrument):
        yield from_ordinary(each, instrument)


def _listed(
    instrument: Instrument, treble: WrittenPitch | None = None
) -> Iterator[OrdinaryFingering]:
    """Go through the same as the layout has them, of one note in treble notation or of all."""
    layout = instrument.layout
    listed = chain(ordinary_fingerings(layout), fingerings_to_try(layout))
    return (each for each in listed if treble is None or each.written == treble)


def from_ordinary(each: OrdinaryFingering, instrument: Instrument) -> StartingPoint:
    """Return a listed fingering as a base, in the notation of the instrument's parts."""
    written = instrument.kind.from_treble_notation(each.written)
    reference = f"ordinary:{written.canonical}:{each.choice}"
    # Those to try are told apart by their keys: each is from memory.
    remark = format_fingering(each.fingering) if each.is_to_try else each.remark
    return StartingPoint(reference, written, each.fingering, remark, is_to_try=each.is_to_try)


def from_logged(row: Fingering, instrument: Instrument) -> StartingPoint:
    """Return a logged fingering as a base."""
    keys = parse_fingering(row.keys_text, instrument.layout)
    return StartingPoint(f"logged:{row.id}", row.written, keys, row.keys_text, row.id)


def _find_ordinary(instrument: Instrument, reference: str) -> StartingPoint | None:
    _, _, note = reference.partition(":")
    try:
        written = WrittenPitch.from_canonical(note.rpartition(":")[0])
    except AnalysisError:
        return None
    treble = instrument.kind.in_treble_notation(written)
    bases = (from_ordinary(each, instrument) for each in _listed(instrument, treble))
    return next((base for base in bases if base.reference == reference), None)


def _find_logged(session: Session, instrument: Instrument, number: str) -> StartingPoint | None:
    row = session.get(Fingering, read_row_number(number))
    if row is None or row.instrument_id != instrument.id:
        return None
    try:
        return from_logged(row, instrument)
    except AnalysisError:
        return None
