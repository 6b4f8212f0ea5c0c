"""The piece of the demo: a page of music composed for it, brought in as a player would."""

from datetime import datetime
from importlib.resources import files
from io import BytesIO

from sqlalchemy import update

from analysis.pitch import WrittenPitch
from webapp.notebook.pieces.decisions import settle
from webapp.notebook.pieces.importing import PieceDraft, add_piece
from webapp.notebook.pieces.originals import Source
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Piece, PieceOriginal, SettledNote, Settlement

FILE = "piece.musicxml"
EIGHTH_TONE = "F5+25c"
WHY = "F natural goes up easily with the lip"


def add_demo_piece(notebook: Notebook, instrument_id: int, at: datetime) -> int:
    """Bring in the demo's piece, with the dates of the story; return its number."""
    data = files(__package__).joinpath(FILE).read_bytes()
    source = Source(file=BytesIO(data), name=FILE)
    number = add_piece(notebook, PieceDraft(source, (instrument_id,)))
    eighth = WrittenPitch.from_canonical(EIGHTH_TONE)
    settle(notebook, number, instrument_id, eighth, Settlement.LIP, WHY)
    with notebook.database.writing() as session:
        session.execute(update(Piece).values(created_at=at, updated_at=at))
        session.execute(update(PieceOriginal).values(created_at=at))
        session.execute(update(SettledNote).values(created_at=at))
    return number
