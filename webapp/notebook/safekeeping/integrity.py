"""Integrity of a database: SQLite's own checks, foreign keys, and contents that can be read.

The quick form leaves out that every index has what its table has ("PRAGMA quick_check", SQLite
manual); it is what a start can afford.
"""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.exc import StatementError
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.keywork import parse_fingering
from analysis.pitch import KINDS, WrittenPitch
from webapp.notebook.store.rows import (
    ComposerFingering,
    Fingering,
    Instrument,
    Piece,
    ReceivedFingering,
)
from webapp.notebook.store.rows.layouts import read_kept_layout

_MOST_FAULTS = 20
_SOUND = ("ok",)


def find_damage(path: Path, *, is_quick: bool = False) -> tuple[str, ...]:
    """Return what SQLite finds wrong with a database file, in its words; none where it is sound.

    The file is only read. Rows that point nowhere are damage too.
    """
    check = "quick_check" if is_quick else "integrity_check"
    address = f"{path.resolve().as_uri()}?mode=ro"
    try:
        with closing(sqlite3.connect(address, uri=True)) as connection:
            found = connection.execute(f"PRAGMA {check}({_MOST_FAULTS})").fetchall()
            faults = [str(row[0]) for row in found if row != _SOUND]
            if not is_quick:
                faults += _find_dangling(connection)
    except sqlite3.DatabaseError as error:
        return (str(error),)
    return tuple(faults[:_MOST_FAULTS])


def _find_dangling(connection: sqlite3.Connection) -> list[str]:
    found = connection.execute("PRAGMA foreign_key_check").fetchmany(_MOST_FAULTS)
    return [f"row {row[1]} of {row[0]} points to a {row[2]} that is not there" for row in found]


def find_unreadable(session: Session) -> tuple[str, ...]:
    """Return which rows say what this version cannot read: kinds, layouts, keys, notes."""
    return tuple(_read_all(session))


def _read_all(session: Session) -> Iterator[str]:
    unreadable = set()
    for instrument in session.scalars(select(Instrument).order_by(Instrument.id)):
        problem = _read_instrument(instrument)
        if problem:
            unreadable.add(instrument.id)
            yield f"instrument {instrument.id}: {problem}"
    query = select(Fingering).options(joinedload(Fingering.instrument)).order_by(Fingering.id)
    for fingering in session.scalars(query):
        if fingering.instrument_id not in unreadable and (problem := _read_fingering(fingering)):
            yield f"fingering {fingering.id}: {problem}"
    theirs = select(ReceivedFingering).options(joinedload(ReceivedFingering.instrument))
    for received in session.scalars(theirs.order_by(ReceivedFingering.id)):
        if problem := _read_received(received):
            yield f"received fingering {received.id}: {problem}"
    yield from _read_pieces(session)


def _read_pieces(session: Session) -> Iterator[str]:
    from analysis.score import settings_from_plain  # which a start looks for damage without

    for piece in session.scalars(select(Piece).order_by(Piece.id)):
        try:
            settings_from_plain(json.loads(piece.answers))
        except (AnalysisError, ValueError, TypeError, AttributeError, ArithmeticError) as error:
            yield f"piece {piece.id}: its answers cannot be read ({error})"
    for row in session.scalars(select(ComposerFingering).order_by(ComposerFingering.id)):
        try:
            _ = row.written
        except AnalysisError as error:
            yield f"composer's fingering {row.id}: its notes cannot be read ({error})"


def _read_instrument(instrument: Instrument) -> str:
    if instrument.kind_id not in KINDS:
        return f"no kind of clarinet is called “{instrument.kind_id[:40]}”"
    try:
        _ = instrument.layout
    except (AnalysisError, StatementError, ValueError, KeyError) as error:
        return f"its keywork cannot be read ({error})"
    return ""


def _read_fingering(fingering: Fingering) -> str:
    try:
        fingering.key_states()
    except AnalysisError as error:
        return f"its keys cannot be read ({error})"
    try:
        _ = fingering.written
    except AnalysisError as error:
        return f"its note cannot be read ({error})"
    return ""


def _read_received(row: ReceivedFingering) -> str:
    try:
        instrument, said = json.loads(row.instrument.details), json.loads(row.details)
        parse_fingering(said["keys"], read_kept_layout(instrument["keywork"]["toml"]))
        WrittenPitch.from_canonical(said["note"]["written"])
    except (AnalysisError, ValueError, KeyError, TypeError) as error:
        return f"what came from another player cannot be read ({error})"
    return ""
