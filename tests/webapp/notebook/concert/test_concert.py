"""The day of the concert: the riskiest notes first, and what a new A or tempo changes.

Truth: the formula of the closed cylinder for the barrel, cents by 1200 log2 of a ratio.
"""

from __future__ import annotations

import math
from io import BytesIO

import pytest
from pypdf import PdfReader

from analysis.day.barrel_pull import find_pull_effect
from analysis.pitch import Register
from tests.analysis.paper.papers import pdf
from tests.webapp.logging_rows import TakeMaker, log
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page, written
from webapp.notebook.concert.opening import Conditions, open_concert
from webapp.notebook.concert.printing import print_concert
from webapp.notebook.own_pages.files import PageUpload, start_from_pages
from webapp.notebook.pieces.decisions import settle
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Settlement

# a quarter note takes a second; G6 is in the altissimo, G4 a throat note
TEXT = (
    '1: E5 +25 (1/4) "1/4=60", D5 -50 (1/16), G6 -50 (1/16), G4 +50 (1/16) | '
    "2: F5 +50 (3/4), A5 +50 (1/4)"
)


@pytest.fixture
def piece(notebook: Notebook, soprano: int) -> int:
    return add_typed_piece(notebook, soprano, text=TEXT)


def sounding_hz(note: str, offset_cents: float) -> float:
    """Frequency of a B-flat clarinet at A = 440 for a written note, so many cents above it."""
    return 440 * 2 ** ((float(written(note).cents) - 200 - 6900 + offset_cents) / 1200)


def risky(notebook: Notebook, piece: int) -> list[tuple[str, tuple[str, ...]]]:
    risks = open_concert(notebook, piece).risks
    return [(each.todo.need.written.canonical, each.reasons) for each in risks]


def test_the_riskiest_notes_come_first(
    notebook: Notebook, soprano: int, piece: int, take_maker: TakeMaker
) -> None:
    log(notebook, soprano, "A5 +50", "T R 1-- | ---")
    measured = log(notebook, soprano, "E5 +25", "T R 123 | 1--")
    take_maker(notebook, measured, sounding_hz("E5+25c", 2.0))
    assert risky(notebook, piece) == [
        ("F5+50c", ("open", "held")),
        ("G6-50c", ("open", "altissimo")),
        ("G4+50c", ("open", "throat")),
        ("D5-50c", ("open",)),
        ("A5+50c", ("not tried",)),
        ("E5+25c", ("one take",)),
    ]
    settle(notebook, piece, soprano, written("F5+50c"), Settlement.LEAVE_OUT)
    assert risky(notebook, piece)[0][0] == "G6-50c"


def test_a_new_a_moves_the_barrel_and_notes_follow_unevenly(
    notebook: Notebook, soprano: int, piece: int, take_maker: TakeMaker
) -> None:
    throat = log(notebook, soprano, "G4 +50", "T --- | ---")
    take_maker(notebook, throat, sounding_hz("G4+50c", 9.0))
    (tuning,) = open_concert(notebook, piece, conditions=Conditions(a_hz="442")).tunings
    assert tuning.shift_cents == pytest.approx(1200 * math.log2(442 / 440))
    # the written B4 of a B-flat clarinet sounds A4, 440 Hz, on three quarter waves
    push_mm = tuning.shift_cents / find_pull_effect(440.0, Register.CLARION)
    assert tuning.push_mm == pytest.approx(push_mm)
    (note,) = tuning.notes
    rises = push_mm * find_pull_effect(sounding_hz("G4+50c", 0), Register.THROAT)
    assert note.after_cents == pytest.approx(9.0 + rises - tuning.shift_cents, abs=0.01)
    assert not note.is_in_tune_then
    assert open_concert(notebook, piece, conditions=Conditions(a_hz="440")).tunings[0].notes == ()


def test_a_new_tempo_says_which_notes_are_asked_otherwise(notebook: Notebook, piece: int) -> None:
    (tempo,) = open_concert(notebook, piece, conditions=Conditions(beats="240")).tempos
    asked = {
        each.after.need.written.canonical: (
            each.before.answer.note.tolerance_cents, each.after.answer.note.tolerance_cents
        )
        for each in tempo.notes
    }  # fmt: skip
    # a quarter note lasts 0.25 s then: it is short; what was held for 3 s lasts 0.75 s
    assert asked == {"E5+25c": (10, 20), "F5+50c": (5, 10), "A5+50c": (10, 20)}
    assert open_concert(notebook, piece, conditions=Conditions(beats="60")).tempos[0].notes == ()


@pytest.mark.parametrize(
    ("conditions", "field"),
    [
        (Conditions(a_hz="300"), "a_hz"),
        (Conditions(a_hz="1e9999"), "a_hz"),
        (Conditions(beats="fast"), "beats"),
        (Conditions(beats="0"), "beats"),
    ],
)
def test_what_is_no_figure_is_refused(
    notebook: Notebook, piece: int, conditions: Conditions, field: str
) -> None:
    with pytest.raises(FieldRefused, match="Give from") as refusal:
        open_concert(notebook, piece, conditions=conditions)
    assert refusal.value.field == field


def test_all_of_it_is_one_file_to_print(notebook: Notebook, soprano: int, piece: int) -> None:
    log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    without_pages = print_concert(notebook, piece)
    text = " ".join(PdfReader(BytesIO(without_pages.content)).pages[0].extract_text().split())
    assert "Warm up" in text
    assert "open, held; bar 2" in text
    assert "Notes that need thought" in text
    mark_a_page(notebook, piece, "D5 -50", bar="1")
    printed = print_concert(notebook, piece)
    assert "Part" in PdfReader(BytesIO(printed.content)).pages[0].extract_text()
    assert print_concert(notebook, piece).content == printed.content


def test_a_part_on_paper_claims_no_length(notebook: Notebook, soprano: int) -> None:
    piece = start_from_pages(notebook, [PageUpload(BytesIO(pdf()), "a.pdf")], [soprano])
    mark_a_page(notebook, piece, "D5 -50", "G6 -50")
    view = open_concert(notebook, piece, conditions=Conditions(a_hz="442", beats="240"))
    assert [each.reasons for each in view.risks] == [("open", "altissimo"), ("open",)]
    assert view.tempos == ()
