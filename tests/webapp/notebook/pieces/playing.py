"""Passages of a piece, played: made recordings for run-throughs."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

from tests.analysis.performance.performances import RATE, Playing, perform
from tests.analysis.recording.clips import encode
from webapp.notebook.pieces.decisions import load_decisions
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.pieces.run_passage import expect, load_notes
from webapp.notebook.pieces.run_throughs import keep_run
from webapp.notebook.store.notebook import Notebook

EXACT = Playing(wrong=0, stops=0, uneven=0, context_cents=0, common_cents=0)
WISH = Stretch(0, 1, 60.0)


def play_passage(
    notebook: Notebook,
    piece: int,
    instrument: int,
    wish: Stretch = WISH,
    *,
    shifts: dict[int, float] | None = None,
    playing: Playing = EXACT,
) -> bytes:
    """A recording of a passage; the notes at some places lie so many cents from held."""
    page = open_piece(notebook, piece, instrument)
    with notebook.database.reading() as session:
        decisions = load_decisions(session, piece, instrument)
        held = load_notes(session, page.instrument, page.todo.part, decisions, wish)
    passage = expect(held, page.todo.part, page.instrument, wish)
    notes = tuple(
        replace(each, height_cents=(each.height_cents or 0) + (shifts or {}).get(place, 0.0))
        for place, each in enumerate(passage.notes)
    )
    samples = perform(replace(passage, notes=notes), 3, playing=playing).samples
    return encode(samples, "wav", RATE)


def add_run_through(notebook: Notebook, piece: int, instrument: int, wish: Stretch = WISH) -> int:
    """Play a passage as written, and keep it."""
    data = play_passage(notebook, piece, instrument, wish)
    return keep_run(notebook, piece, instrument, wish, BytesIO(data))
