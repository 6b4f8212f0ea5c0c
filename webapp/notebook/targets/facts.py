"""Reads what judging needs, in a number of queries that grows with neither notes nor rows."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from operator import itemgetter
from typing import Any

import numpy as np
from sqlalchemy import (
    ColumnElement,
    Executable,
    Integer,
    Select,
    and_,
    or_,
    select,
    type_coerce,
)
from sqlalchemy.orm import Session

from analysis.pitch import SoundingPitch
from webapp.notebook.store.changes import follow_fingerings
from webapp.notebook.store.rows import (
    Choice,
    Circumstance,
    Fingering,
    Instrument,
    NoteTolerance,
    Role,
    exact_key,
)
from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.ordered import OrderedFacts
from webapp.notebook.targets.standing import Facts, Word

WIDEST_REACH_CENTS = 60.0  # beyond every tolerance and every reach of the lip
# More notes than this are not looked up one by one: reading everything costs less then.
NOTES_LOOKED_UP = 24
ROWS_AT_ONCE = 1000
_NUMBERS = (
    Fingering.target_cents,
    Fingering.sounding_cents,
    Fingering.offset_uncertainty_cents,
    Fingering.take_count,
    Fingering.failed_take_count,
    Fingering.spread_cents,
    Fingering.resistance,
    Fingering.ease,
    # as the driver gives them: a conversion for each of very many rows takes its time
    type_coerce(Fingering.has_half_hole, Integer),
    type_coerce(Fingering.does_not_speak, Integer),
    type_coerce(Fingering.speaks_softly, Integer),
)
"""The columns of `FactColumns`, in their order."""

Words = dict[tuple[int, str], dict[int, Word]]
"""The player's words by instrument and note, then by fingering."""


@dataclass(frozen=True, slots=True)
class Look:
    """How much is read to be judged.

    With `soundings` only what can matter for these, or sounds within `width_cents` of one, the
    player's choices always with it. A brief look leaves the texts out.
    """

    soundings: tuple[SoundingPitch, ...] | None = None
    width_cents: float = 0.0
    is_brief: bool = False


EVERYTHING = Look()


def load_columns(
    session: Session,
    instruments: Sequence[Instrument],
    wanted: Iterable[ColumnElement[bool]] = (),
    look: Look = EVERYTHING,
) -> dict[int, OrderedFacts]:
    """Return the facts of the fingerings outside the bin, by the number of their instrument.

    All of them, without their texts, are kept in memory and brought up to what was written.

    Args:
        session: a transaction.
        instruments: whose; none of them in the bin.
        wanted: filters that a fingering has to pass; they may ask for its instrument.
        look: how much is read.
    """
    is_few = look.soundings is not None and len(look.soundings) <= NOTES_LOOKED_UP
    if look.is_brief and not is_few:
        return _choose_kept(session, instruments, list(wanted))
    ids = [each.id for each in instruments]
    texts = () if look.is_brief else (Fingering.keys_text, Fingering.target_text)
    query = _select(_NUMBERS + texts, wanted)
    if look.soundings is None or not is_few:
        query = _through_instruments(query, ids)
    else:
        query = query.where(_may_matter(instruments, look.soundings, look.width_cents))
    read = _read_columns(session, query, ids)
    return {number: OrderedFacts.of(found) for number, found in read.items()}


def _select(columns: Sequence[Any], wanted: Iterable[ColumnElement[bool]] = ()) -> Select[Any]:
    return (
        select(Fingering.instrument_id, Fingering.id, *columns)
        .join(Instrument, Instrument.id == Fingering.instrument_id)
        .where(Fingering.deleted_at.is_(None), *wanted)
    )


def _through_instruments(query: Select[Any], instrument_ids: Collection[int]) -> Select[Any]:
    """Read the rows in the order in which they lie on disk.

    Through an index of another order each row of a large notebook is looked for anew.
    """
    return query.where(Fingering.instrument_id.in_(instrument_ids)).order_by(
        Fingering.instrument_id, Fingering.id
    )


def _read_columns(
    session: Session, query: Executable, instrument_ids: Iterable[int]
) -> dict[int, FactColumns]:
    found: dict[int, list[FactColumns]] = {number: [] for number in instrument_ids}
    for block in _fetch_blocks(session, query):
        for number, rows in groupby(block, key=itemgetter(0)):
            found[number].append(FactColumns.of_rows(number, [row[1:] for row in rows]))
    return {number: FactColumns.join(number, blocks) for number, blocks in found.items()}


def _choose_kept(
    session: Session, instruments: Sequence[Instrument], wanted: Sequence[ColumnElement[bool]]
) -> dict[int, OrderedFacts]:
    """Return what passes some filters out of all that is kept in memory of each instrument."""
    kept = {each.id: _follow(session, each.id) for each in instruments}
    if not wanted:
        return kept
    passing = defaultdict(list)
    query = _through_instruments(_select((), wanted), kept.keys())
    for block in _fetch_blocks(session, query):
        for instrument_id, number in block:
            passing[instrument_id].append(number)
    return {
        number: facts.choose(np.isin(facts.known.numbers, passing[number], assume_unique=True))
        for number, facts in kept.items()
    }


def _follow(session: Session, instrument_id: int) -> OrderedFacts:
    """Return all facts of an instrument, kept in memory and brought up to what was written."""

    def read() -> OrderedFacts:
        query = _through_instruments(_select(_NUMBERS), [instrument_id])
        return OrderedFacts.of(_read_columns(session, query, [instrument_id])[instrument_id])

    def renew(facts: OrderedFacts, written: Collection[int]) -> OrderedFacts:
        query = _select(_NUMBERS, [Fingering.id.in_(written)]).where(
            Fingering.instrument_id == instrument_id
        )
        stays = np.isin(facts.known.numbers, list(written), invert=True)
        again = _read_columns(session, query, [instrument_id])[instrument_id]
        return OrderedFacts.of(
            FactColumns.join(instrument_id, [facts.known.take(np.flatnonzero(stays)), again])
        )

    return follow_fingerings(session, ("facts", instrument_id), read, renew)


def _fetch_blocks(session: Session, query: Executable) -> Iterator[list[tuple[Any, ...]]]:
    """Fetch rows as the driver gives them, some at a time: quicker, and most are gone at once."""
    with session.connection().execute(query) as result:
        assert result.cursor is not None, "a SELECT has one"
        while block := result.cursor.fetchmany(ROWS_AT_ONCE):
            yield list(block)


def _may_matter(
    instruments: Sequence[Instrument], soundings: Iterable[SoundingPitch], width_cents: float
) -> ColumnElement[bool]:
    """Leave away the rows that can say nothing about some notes; choices are always kept.

    Each part says all that an index needs, so that none reads the whole notebook.
    """
    reach = max(width_cents, WIDEST_REACH_CENTS)
    ids = [each.id for each in instruments]
    parts: list[ColumnElement[bool]] = [
        and_(Fingering.id.in_(select(Choice.fingering_id)), Fingering.instrument_id.in_(ids))
    ]
    for sounding in soundings:
        for each in instruments:
            is_its = Fingering.instrument_id == each.id
            low, high = sounding.cents - reach, sounding.cents + reach
            shift = each.transposition.cents
            parts += [
                and_(is_its, Fingering.sounding_cents.between(low, high)),
                and_(
                    is_its,
                    Fingering.deleted_at.is_(None),
                    Fingering.does_not_speak.in_([False, True]),
                    Fingering.written_cents.between(low - shift, high - shift),
                ),
            ]
    return or_(*parts)


def load_texts(session: Session, numbers: Collection[int]) -> dict[int, tuple[str, str]]:
    """Return keys and target of some fingerings by their numbers, after a brief look."""
    query = select(Fingering.id, Fingering.keys_text, Fingering.target_text)
    rows = session.execute(query.where(Fingering.id.in_(numbers)))
    return {number: (keys, target) for number, keys, target in rows}


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
