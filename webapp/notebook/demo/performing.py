"""The piece of the demo: a page of music composed for it, brought in as a player would.

Its printed part is engraved here, opened as a PDF, and marked note by note.
"""

from datetime import datetime
from importlib.resources import files
from io import BytesIO

from sqlalchemy import update

from analysis.pitch import WrittenPitch
from webapp.notebook.demo.engraving import engrave
from webapp.notebook.own_pages.files import PageUpload, add_pages
from webapp.notebook.own_pages.marks import MarkDraft, Spot, add_marks
from webapp.notebook.own_pages.opening import open_own_pages, place_reference
from webapp.notebook.pieces.decisions import settle
from webapp.notebook.pieces.importing import PieceDraft, add_piece
from webapp.notebook.pieces.originals import Source
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    PageFile,
    PageMark,
    Piece,
    PieceOriginal,
    SettledNote,
    Settlement,
)

FILE = "piece.musicxml"
PAGES = "lit-window.pdf"
ABOVE_MM = 2.5
EIGHTH_TONE = "F5+25c"
WHY = "F natural goes up easily with the lip"


def add_demo_piece(notebook: Notebook, instrument_id: int, at: datetime) -> int:
    """Bring in the demo's piece, with the dates of the story; return its number."""
    data = files(__package__).joinpath(FILE).read_bytes()
    source = Source(file=BytesIO(data), name=FILE)
    number = add_piece(notebook, PieceDraft(source, (instrument_id,)))
    eighth = WrittenPitch.from_canonical(EIGHTH_TONE)
    settle(notebook, number, instrument_id, eighth, Settlement.LIP, WHY)
    _mark_pages(notebook, number, at)
    with notebook.database.writing() as session:
        session.execute(update(Piece).values(created_at=at, updated_at=at))
        for kind in (PieceOriginal, SettledNote, PageFile, PageMark):
            session.execute(update(kind).values(created_at=at))
    return number


def _mark_pages(notebook: Notebook, piece_id: int, at: datetime) -> None:
    """Open the printed part of the piece and mark what needs thought on it, above the staff."""
    view = open_own_pages(notebook, piece_id)
    page = engrave(view.judgements[0][0].part, at.date())
    add_pages(notebook, piece_id, [PageUpload(BytesIO(page.pdf), PAGES)])
    file = open_own_pages(notebook, piece_id).pages[0].file
    placed = []
    for place in view.places:
        if not place.is_second:
            x_mm, y_mm = page.places[place.note.index]
            draft = MarkDraft(reference=place_reference(place))
            placed.append((Spot(0, x_mm, y_mm - ABOVE_MM), draft))
    add_marks(notebook, piece_id, file.id, placed)
