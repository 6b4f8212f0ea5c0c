"""Part of a piece whose notes are marked on its own pages: the marks as they are read.

A mark says which note and in which bar; no length and no dynamic is claimed for it, so each counts
as a quarter note, which is as long as any whose length nobody knows. Bars come in the order of the
pages, on a page by their number, notes within a bar from left to right.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.score import (
    PartSegment,
    ReadingSettings,
    ScorePart,
    TypedBar,
    TypedNote,
    read_part,
    to_transcript,
)
from webapp.notebook.store.rows import PageFile, PageMark, PieceOriginal

_NUMBER = re.compile(r"[0-9]+")
_LENGTH = Fraction(1)


@dataclass(frozen=True, slots=True)
class MarkedPlace:
    """Place of a mark in the part that the marks make: index of the bar, and onset in it."""

    bar: int
    onset: Fraction


def load_marks(
    session: Session, piece_id: int, transposition_cents: int | None = None
) -> tuple[PageMark, ...]:
    """Return the marks on the pages of a piece, in the order of the part."""
    query = select(PageMark).join(PageMark.file).where(PageFile.piece_id == piece_id)
    if transposition_cents is not None:
        query = query.where(PageMark.transposition_cents == transposition_cents)
    return sort_marks(session.scalars(query))


def sort_marks(marks: Iterable[PageMark]) -> tuple[PageMark, ...]:
    """Return marks in the order of the part."""

    def place(mark: PageMark) -> tuple[object, ...]:
        number = _NUMBER.search(mark.bar_label)
        counted = int(number[0]) if number else 0
        across = (round(mark.x_mm, 2), mark.is_second, mark.id or 0)
        return mark.file_id, mark.page, counted, mark.bar_label, *across

    return tuple(sorted(marks, key=place))


def find_marked_places(marks: Sequence[PageMark]) -> dict[int, MarkedPlace]:
    """Return where each mark stands in the part that those of its transposition make."""
    found: dict[int, MarkedPlace] = {}
    for transposition in dict.fromkeys(each.transposition_cents for each in marks):
        own = [each for each in marks if each.transposition_cents == transposition]
        for bar, (_, in_bar) in enumerate(groupby(own, key=lambda each: each.bar_label)):
            found |= {mark.id: MarkedPlace(bar, at * _LENGTH) for at, mark in enumerate(in_bar)}
    return found


def read_marked_part(
    session: Session, original: PieceOriginal, transposition_cents: int | None
) -> ScorePart:
    """Return the part that the marks on a piece's pages make, for one transposition.

    Without one it is that of the first mark. Nothing is asked: the player said each note.
    """
    marks = load_marks(session, original.piece_id, transposition_cents)
    if transposition_cents is None and marks:
        transposition_cents = marks[0].transposition_cents
        marks = tuple(each for each in marks if each.transposition_cents == transposition_cents)
    settings = ReadingSettings(is_sounding=False, transposition_cents=transposition_cents or 0)
    if not marks:
        return _make_empty(settings)
    bars = [
        TypedBar(label, tuple(TypedNote(each.written, _LENGTH) for each in marks_in_bar))
        for label, marks_in_bar in groupby(marks, key=lambda each: each.bar_label)
    ]
    return replace(read_part(to_transcript(bars), settings), questions=())


def _make_empty(settings: ReadingSettings) -> ScorePart:
    segment = PartSegment(0, 0, Fraction(0), settings.transposition_cents or 0, is_stated=True)
    return ScorePart(1, "", "", "", settings, (segment,), bars=(), notes=())
