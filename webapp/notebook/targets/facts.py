"""Reads what judging needs, in a number of queries that grows with neither notes nor rows."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from fractions import Fraction

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from analysis.pitch import SoundingPitch
from webapp.notebook.store.rows import (
    Choice,
    Circumstance,
    Fingering,
    Instrument,
    NoteTolerance,
    Role,
    exact_key,
)
from webapp.notebook.targets.standing import Facts, Word

WIDEST_REACH_CENTS = 60.0  # beyond every tolerance and every reach of the lip
_COLUMNS = (
    Fingering.id,
    Fingering.instrument_id,
    Fingering.keys_text,
    Fingering.target_text,
    Fingering.target_cents,
    Fingering.sounding_cents,
    Fingering.offset_uncertainty_cents,
    Fingering.take_count,
    Fingering.failed_take_count,
    Fingering.spread_cents,
    Fingering.resistance,
    Fingering.ease,
    Fingering.has_half_hole,
    Fingering.does_not_speak,
    Fingering.speaks_softly,
)

Words = dict[tuple[int, str], dict[int, Word]]
"""The player's words by instrument and note, then by fingering."""


def load_facts(session: Session, wanted: Iterable[ColumnElement[bool]]) -> list[Facts]:
    """Return the facts of the fingerings that pass some filters, outside the bin, by pitch."""
    query = (
        select(*_COLUMNS)
        .join(Instrument, Instrument.id == Fingering.instrument_id)
        .where(Fingering.deleted_at.is_(None), Instrument.deleted_at.is_(None), *wanted)
        .order_by(Fingering.sounding_cents, Fingering.id)
    )
    return [Facts._make(row) for row in session.execute(query)]


def may_matter(sounding: SoundingPitch, width_cents: float = 0.0) -> ColumnElement[bool]:
    """Leave away the rows that can say nothing about one note; its choices are always kept."""
    cents, reach = sounding.cents, max(width_cents, WIDEST_REACH_CENTS)
    return or_(
        Fingering.sounding_cents.between(cents - reach, cents + reach),
        Fingering.target_cents.between(cents - reach, cents + reach),
        Fingering.id.in_(select(Choice.fingering_id)),
    )


def facts_of(row: Fingering) -> Facts:
    """Return the facts of a fingering whose row is there already."""
    return Facts(
        row.id,
        row.instrument_id,
        row.keys_text,
        row.target_text,
        row.target_cents,
        row.sounding_cents,
        row.offset_uncertainty_cents,
        row.take_count,
        row.failed_take_count,
        row.spread_cents,
        row.resistance,
        row.ease,
        row.has_half_hole,
        row.does_not_speak,
        row.speaks_softly,
    )


def load_words(session: Session, instrument_ids: Collection[int]) -> Words:
    """Return the player's words on the fingerings of some instruments."""
    query = (
        select(Choice)
        .join(Fingering, Fingering.id == Choice.fingering_id)
        .where(Choice.instrument_id.in_(instrument_ids), Fingering.deleted_at.is_(None))
        .order_by(Choice.id)
    )
    rows: dict[tuple[int, str], dict[int, list[Choice]]] = defaultdict(lambda: defaultdict(list))
    for row in session.scalars(query):
        rows[row.instrument_id, row.written_exact][row.fingering_id].append(row)
    return {
        note: {fingering_id: read_word(found) for fingering_id, found in words.items()}
        for note, words in rows.items()
    }


def read_word(rows: Sequence[Choice]) -> Word:
    """Return the player's word on one fingering for one note, from its rows."""
    mine = tuple(Circumstance(row.circumstance) for row in rows if row.role == Role.MINE)
    if mine:
        return Word(Role.MINE, mine)
    return Word(Role(rows[0].role), (), rows[0].reason)


def words_of(words: Words, instrument_id: int, written_cents: Fraction) -> dict[int, Word]:
    """Return the player's words on one note, by fingering."""
    return words.get((instrument_id, exact_key(written_cents)), {})


def load_tolerances(
    session: Session, instrument_ids: Collection[int]
) -> dict[tuple[int, str], float]:
    """Return the tolerances, in cents, of the notes that have one of their own."""
    query = select(NoteTolerance).where(NoteTolerance.instrument_id.in_(instrument_ids))
    return {
        (row.instrument_id, row.written_exact): row.tolerance_cents
        for row in session.scalars(query)
    }
