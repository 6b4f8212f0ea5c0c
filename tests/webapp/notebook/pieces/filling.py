"""Pieces in a notebook, all invented."""

from __future__ import annotations

from io import BytesIO

from analysis.pitch import WrittenPitch
from tests.analysis.notation.scores import B_FLAT, bar, note, score
from tests.analysis.paper.papers import pdf
from tests.webapp.logging_rows import Filled
from tests.webapp.looping import record_loop
from tests.webapp.notebook.pieces.playing import add_run_through
from webapp.notebook.own_pages.files import PageUpload, add_pages, load_files
from webapp.notebook.own_pages.marks import MarkDraft, Spot, add_mark
from webapp.notebook.pieces.decisions import (
    FixPlace,
    enter_composers_fingering,
    fix,
    settle,
)
from webapp.notebook.pieces.importing import PieceDraft, add_piece
from webapp.notebook.pieces.letters import keep_letter
from webapp.notebook.pieces.originals import Source
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import ChosenPassage, PrintedSheet, Settlement

CLARINET = "Clarinet in Bb"
TEXT = (
    '1: D5 -50 (1/2) "1/4=60" "pp", E5~F5+25 (1/4) | 2: tr D5/Dqf5 (1/4), gr Eqf5 | '
    '3: C5 & A5 (1/4) [T R 12- | 1--], C4 "slap" | 4: r (1) | 5: D5 -50 (1/2)'
)


def written(text: str) -> WrittenPitch:
    """A note by its canonical text."""
    return WrittenPitch.from_canonical(text)


def add_typed_piece(
    notebook: Notebook, *instruments: int, text: str = "", title: str = "Study"
) -> int:
    """Add a piece from typed text."""
    return add_piece(notebook, PieceDraft(Source(text=text or TEXT), instruments, title))


def add_score(
    notebook: Notebook,
    instrument: int,
    *bars: str,
    transposition: str | None = B_FLAT,
    name: str = CLARINET,
) -> int:
    """Add a piece from a MusicXML file."""
    return add_piece(
        notebook,
        PieceDraft(score_source(*bars, transposition=transposition, name=name), (instrument,)),
    )


def score_source(
    *bars: str,
    file_name: str = "study.musicxml",
    transposition: str | None = B_FLAT,
    name: str = CLARINET,
) -> Source:
    """A MusicXML file as a player chooses it."""
    data = score(*bars, transposition=transposition, name=name)
    return Source(file=BytesIO(data), name=file_name)


def fill_piece(notebook: Notebook, rows: Filled) -> int:
    """Put a row into every table of pieces, and a loop; return the number of the piece."""
    piece = add_typed_piece(notebook, rows.soprano)
    settle(notebook, piece, rows.soprano, written("F5+25c"), Settlement.LIP, "high enough")
    fix(notebook, piece, rows.base, FixPlace(written("D5-50c"), bar=0))
    enter_composers_fingering(notebook, piece, rows.soprano, "C5 & A5", "T R 12- | 1--")
    with notebook.database.writing() as session:
        session.add(PrintedSheet(piece_id=piece, content="{}"))
        session.add(
            ChosenPassage(piece_id=piece, instrument_id=rows.soprano, first_bar=0, last_bar=1)
        )
    mark_a_page(notebook, piece, "D5 -50", bar="1")
    add_run_through(notebook, piece, rows.soprano)
    record_loop(notebook, rows.soprano)
    keep_letter(notebook, piece, rows.soprano, "Dear composer,", seen_version=0)
    return piece


def fill_pieces(notebook: Notebook, rows: Filled) -> None:
    """Add the piece of `fill_piece`, and one from a file that leaves a question open."""
    fill_piece(notebook, rows)
    add_score(notebook, rows.soprano, bar(note("D5", "natural-up"), note("E5"), number="7"))


def mark_a_page(notebook: Notebook, piece: int, *notes: str, bar: str = "12") -> int:
    """Add a page to a piece with marks 20 mm beside each other; return the number of its file."""
    add_pages(notebook, piece, [PageUpload(BytesIO(pdf()), "part.pdf")])
    with notebook.database.reading() as session:
        file = load_files(session, piece)[-1].id
    for place, name in enumerate(notes):
        add_mark(notebook, piece, file, Spot(0, 40 + 20 * place, 50), MarkDraft(name, bar))
    return file
