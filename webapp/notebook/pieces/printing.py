"""Printed sheets of a piece: made, remembered, and compared with what holds now.

A sheet lies on the stand with what held when it was printed; what differs since is a slip of
changes to pencil in.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from analysis.engraving import EngraverFault
from analysis.pitch import WrittenPitch
from webapp.notebook.charts.charts import last_change
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.pdf.bars import render_bars
from webapp.notebook.charts.pdf.strips import render_strips
from webapp.notebook.pieces.decisions import Decisions, load_decisions
from webapp.notebook.pieces.originals import find_original, read_piece
from webapp.notebook.pieces.pieces import load_instruments
from webapp.notebook.pieces.sheet import (
    Judgement,
    SheetHead,
    SheetPlace,
    compose_sheet,
    list_sheet_places,
    write_content,
)
from webapp.notebook.pieces.strips import compose_excerpts
from webapp.notebook.pieces.todo import PieceTodo, judge_part
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Piece, PrintedSheet

SHEETS_SHOWN = 12


class SheetKind(StrEnum):
    """How a sheet is laid out."""

    BARS = "bars"
    """A row for each bar, only the notes that need thought."""
    STRIPS = "strips"
    """The hard bars as music, with drawings above their notes."""


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A sheet as PDF, with a name for it."""

    pdf: bytes
    file_name: str


@dataclass(frozen=True, slots=True)
class SheetChange:
    """A note that is not played as it was printed: keys then and now, '' for none."""

    bar_label: str
    pitches: tuple[WrittenPitch, ...]
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class ComparedSheet:
    """A printed sheet, and what differs from it now."""

    sheet_id: int
    printed_at: datetime
    changes: tuple[SheetChange, ...]


@dataclass(frozen=True, slots=True)
class SheetsPage:
    """A piece with its printed sheets, the newest first."""

    piece: Piece
    sheets: tuple[ComparedSheet, ...]
    has_instruments: bool
    writing: Writing


def print_sheet(
    notebook: Notebook,
    piece_id: int,
    *,
    paper: Paper,
    kind: SheetKind = SheetKind.BARS,
    writing: Writing | None = None,
) -> SheetFile:
    """Make the sheet of a piece on all its instruments, and remember what stands on it.

    Raises:
        NotInNotebook: there is no such piece.
        FieldRefused: no instrument of it is left, or the bars could not be engraved.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        judgements = judge_piece(session, notebook, piece)
        if not judgements:
            raise FieldRefused("instruments", "No instrument of this piece is left.")
        as_of = last_day_of(session, piece, judgements)
        head = SheetHead(piece.title, piece.composer, as_of, paper)
        writing = writing or find_preferences(session)
        content = write_content(list_sheet_places(judgements))
    pdf = _render(judgements, head, writing, kind)
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        session.add(PrintedSheet(piece_id=piece_id, content=content))
    return SheetFile(pdf, f"sheet-{as_of.isoformat()}.pdf")


def render_sheet(
    todo: PieceTodo, head: SheetHead, writing: Writing, kind: SheetKind = SheetKind.BARS
) -> bytes:
    """Make the PDF of a part on one instrument, of no piece of the notebook.

    Raises:
        FieldRefused: the bars could not be engraved.
    """
    return _render([(todo, Decisions())], head, writing, kind)


def _render(
    judgements: Sequence[Judgement], head: SheetHead, writing: Writing, kind: SheetKind
) -> bytes:
    spec = compose_sheet(judgements, head, writing)
    if kind is SheetKind.BARS:
        return render_bars(spec)
    try:
        return render_strips(spec, compose_excerpts(judgements, writing))
    except EngraverFault as fault:
        raise FieldRefused("kind", str(fault)) from fault


def judge_piece(session: Session, notebook: Notebook, piece: Piece) -> tuple[Judgement, ...]:
    """Judge a piece on each of its instruments; nothing where none is left."""
    original = find_original(session, piece.id)
    found = []
    for instrument in load_instruments(session, [piece.id]).get(piece.id, ()):
        decisions = load_decisions(session, piece.id, instrument.id)
        part = read_piece(session, notebook, piece, original, instrument.transposition)
        found.append((judge_part(session, instrument, part, decisions), decisions))
    return tuple(found)


def last_day_of(session: Session, piece: Piece, judgements: Sequence[Judgement]) -> date:
    """Return the day of the last change, so that the same notebook gives the same bytes."""
    days = [last_change(session, todo.instrument) for todo, _ in judgements]
    decided = [decisions.last_change for _, decisions in judgements]
    moments = [piece.updated_at, *(each for each in decided if each is not None)]
    return max(max(moments).date(), *days)


def open_sheets(notebook: Notebook, piece_id: int) -> SheetsPage:
    """Return the printed sheets of a piece, each with what differs from it now.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        rows = session.scalars(
            select(PrintedSheet)
            .where(PrintedSheet.piece_id == piece_id)
            .options(undefer(PrintedSheet.content))
            .order_by(PrintedSheet.id.desc())
            .limit(SHEETS_SHOWN)
        ).all()
        judgements = judge_piece(session, notebook, piece)
        now = _read_content(write_content(list_sheet_places(judgements))) if judgements else {}
        sheets = tuple(
            ComparedSheet(row.id, row.printed_at, _compare(_read_content(row.content), now))
            for row in rows
        )
        return SheetsPage(piece, sheets, bool(judgements), find_preferences(session))


def list_places_of(notebook: Notebook, piece_id: int) -> tuple[SheetPlace, ...]:
    """Return all that a sheet of a piece would show now.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.reading() as session:
        return list_sheet_places(judge_piece(session, notebook, fetch(session, Piece, piece_id)))


def forget_sheet(notebook: Notebook, piece_id: int, sheet_id: int) -> None:
    """Forget a printed sheet, as when it was thrown away.

    Raises:
        NotInNotebook: there is no such piece or sheet.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        row = session.get(PrintedSheet, sheet_id) if is_row_number(sheet_id) else None
        if row is None or row.piece_id != piece_id:
            raise NotInNotebook("This sheet is no longer remembered. Load the page again.")
        session.delete(row)


_Place = tuple[str, str, str, int]


def _read_content(content: str) -> dict[_Place, str]:
    """Return the keys of each place of a sheet; nothing where it cannot be read."""
    places = json.loads(content).get("places", [])
    return {
        (label, onset, pitches, instrument_id): keys
        for label, onset, pitches, instrument_id, keys, _ in places
    }


def _compare(before: dict[_Place, str], now: dict[_Place, str]) -> tuple[SheetChange, ...]:
    """Return what differs, in the order of the sheet now, then what is gone."""
    places = [*now, *(each for each in before if each not in now)]
    changes = [
        SheetChange(
            place[0],
            tuple(WrittenPitch.from_canonical(each) for each in place[2].split()),
            before.get(place, ""),
            now.get(place, ""),
        )
        for place in places
        if before.get(place, "") != now.get(place, "")
    ]
    return tuple(dict.fromkeys(changes))
