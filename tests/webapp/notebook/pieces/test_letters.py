"""Letters to composers: what is asked by bar, what the player edits, one tagged page."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.analysis.notation.scores import bar, note
from tests.webapp.logging_rows import attach, log
from tests.webapp.notebook.charts.pdf.test_rendering import is_accessible, is_tagged
from tests.webapp.notebook.pieces.filling import add_score, add_typed_piece, written
from tests.webapp.tones import tone_wav
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.pieces.decisions import enter_composers_fingering, say_it_speaks, settle
from webapp.notebook.pieces.letters import (
    LETTER_CHARACTERS,
    keep_letter,
    open_letter,
    print_letter,
)
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Settlement

TEXT = '12: D5 -50 (1/2) "1/4=60", E5 +25 | 13: C5 & A5, F5 +50, tr G5/G#5'


def paragraphs(notebook: Notebook, piece: int, instrument: int) -> list[str]:
    return open_letter(notebook, piece, instrument).text.strip().split("\n\n")


def test_notes_are_asked_for_by_bar_with_the_nearest_that_can_be_played(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    high = log(notebook, clarinet, "D5 -50", "T R 123 | 12-")
    attach(notebook, high, tone_wav(440 * 2 ** ((250 + 40) / 1200)))  # 40 above C5 -50
    settle(notebook, piece, clarinet, written("E5+25c"), Settlement.ASK, "too quick for the lip")
    settle(notebook, piece, clarinet, written("F5+50c"), Settlement.LEAVE_OUT)
    enter_composers_fingering(notebook, piece, clarinet, "C5 & A5", "T R --3 | ---")
    page = open_piece(notebook, piece, clarinet)
    for each in page.decisions.composers:
        say_it_speaks(notebook, piece, each.id, speaks=False)
    found = paragraphs(notebook, piece, clarinet)
    assert found[0] == "Dear composer,"
    assert "Study on the B-flat soprano clarinet." in found[1]
    notes = found[found.index("Notes") + 1 :]
    assert notes[0].startswith("Bar 12: D quarter-flat 5. I have no fingering that reaches it.")
    assert "The nearest that I can play is D5 −10." in notes[0]
    assert notes[1].endswith("Too quick for the lip. What would you like to hear there?")
    assert notes[2].startswith("Bar 13: F quarter-sharp 5.")
    assert notes[2].endswith("I would leave it out.")
    assert "the multiphonic C5 and A5 does not speak" in notes[3]
    assert found[-1] == "With best wishes"


def test_a_sign_is_asked_for_with_all_its_readings(notebook: Notebook, clarinet: int) -> None:
    piece = add_score(notebook, clarinet, bar(note("D5", "natural-up"), number="7"))
    found = paragraphs(notebook, piece, clarinet)
    (sign,) = [each for each in found if each.startswith("Bar 7: How far does an arrow")]
    assert "a quarter tone (D quarter-sharp 5)" in sign
    assert "an eighth of a tone (" in sign


def test_a_piece_without_trouble_has_a_letter_that_says_so(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text="1: C5 (1/2), D5")
    assert "Everything in it can be played as written." in paragraphs(notebook, piece, clarinet)


def test_what_the_player_edits_stays_and_no_window_overwrites_another(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    keep_letter(notebook, piece, clarinet, "Mine\r\n\r\nBar 2?", seen_version=0)
    page = open_letter(notebook, piece, clarinet)
    assert (page.text, page.version) == ("Mine\n\nBar 2?", 1)
    with pytest.raises(StaleEdit):
        keep_letter(notebook, piece, clarinet, "other", seen_version=0)
    with pytest.raises(FieldRefused):
        keep_letter(notebook, piece, clarinet, "x" * (LETTER_CHARACTERS + 1), seen_version=1)
    keep_letter(notebook, piece, clarinet, " ", seen_version=1)
    again = open_letter(notebook, piece, clarinet)
    assert (again.text, again.version) == (page.draft, 0)


def test_the_pdf_is_one_tagged_page_and_the_same_bytes_twice(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    many = "\n\n".join(f"Bar {each}: is this note meant to be so high?" for each in range(30))
    keep_letter(notebook, piece, clarinet, f"Dear composer,\n\nNotes\n\n{many}", seen_version=0)
    pdf = print_letter(notebook, piece, clarinet, Paper.A4)
    assert pdf == print_letter(notebook, piece, clarinet, Paper.A4)
    pages = PdfReader(BytesIO(pdf)).pages
    assert len(pages) == 1
    assert "Bar 29: is this note" in pages[0].extract_text()
    assert is_tagged(pdf)
    assert is_accessible(pdf)
