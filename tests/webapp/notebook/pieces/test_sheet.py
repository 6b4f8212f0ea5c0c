"""Sheet of a piece: which fingering stands where, letters, pages, and what differs since."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from io import BytesIO
from math import radians, tan

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from analysis.keywork import load_layout, parse_fingering
from tests.pdf_text import read_pages
from tests.webapp.logging_rows import SOPRANO, add_clarinet, log
from tests.webapp.notebook.charts.pdf.test_rendering import (
    alternative_texts,
    is_accessible,
    is_tagged,
)
from tests.webapp.notebook.pieces.filling import add_typed_piece, written
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.pdf.bars import (
    NOTHING,
    SheetBar,
    SheetNote,
    SheetSpec,
    find_letters,
    render_bars,
)
from webapp.notebook.charts.pdf.fonts import shipped_folder
from webapp.notebook.pieces.decisions import FixPlace, enter_composers_fingering, fix, settle
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.pieces.printing import SheetKind, forget_sheet, open_sheets, print_sheet
from webapp.notebook.pieces.sheet import SheetPlace, list_sheet_places
from webapp.notebook.pieces.strips import compose_excerpts
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Settlement

TEXT = "1: D5 -50 (1/4), E5, D5 -50 | 2: F5 +25, tr D5/Dqf5 | 3: C5 & A5"


def sheet_of(notebook: Notebook, piece: int) -> tuple[SheetPlace, ...]:
    page = open_piece(notebook, piece)
    return list_sheet_places([(page.todo, page.decisions)])


def text_of(pdf: bytes) -> str:
    return "\n".join(read_pages(pdf))


def test_what_is_fixed_comes_before_the_composers_and_that_before_the_best(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    best, other = (log(notebook, clarinet, "D5 -50", each) for each in ("T R 12-", "T R 1--"))
    assert [each.keys_text for each in sheet_of(notebook, piece)][:2] == ["T R 12- | ---"] * 2
    enter_composers_fingering(notebook, piece, clarinet, "Dqf5", "T R 123 | 1--")
    enter_composers_fingering(notebook, piece, clarinet, "C5 & A5", "T R --3 | ---")
    settle(notebook, piece, clarinet, written("F5+25c"), Settlement.LIP)
    fix(notebook, piece, other, FixPlace(written("D5-50c"), before=written("E5")))
    fix(notebook, piece, best, FixPlace(written("D5-50c"), bar=0))
    found = [(each.bar_label, each.keys_text, each.words) for each in sheet_of(notebook, piece)]
    assert found == [
        ("1", "T R 12- | ---", "not tried, fixed"),
        ("1", "T R 1-- | ---", "not tried, fixed"),
        ("2", "", "lip it"),
        ("2", "T R 123 | 1--", "composer's, not tried"),
        ("3", "T R --3 | ---", "not tried"),
    ]


def test_a_sheet_is_accessible_the_same_twice_and_remembered(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text=TEXT, title="Nocturne é")
    log(notebook, clarinet, "D5 -50", "T R 12-")
    printed = print_sheet(notebook, piece, paper=Paper.A4)
    assert printed.pdf == print_sheet(notebook, piece, paper=Paper.A4).pdf
    assert is_accessible(printed.pdf)
    assert is_tagged(printed.pdf)
    assert "Nocturne é" in text_of(printed.pdf)
    spoken = alternative_texts(printed.pdf)
    assert any(each.startswith("Bar 1, D quarter-flat 5: ") for each in spoken)
    letter = print_sheet(notebook, piece, paper=Paper.LETTER).pdf
    # US Letter is 8.5 by 11 inches (ANSI/ASME Y14.1), at 72 points an inch
    assert [float(each) for each in PdfReader(BytesIO(letter)).pages[0].mediabox] == [
        0,
        0,
        612,
        792,
    ]

    page = open_sheets(notebook, piece)
    assert [each.changes for each in page.sheets] == [(), (), ()]
    another = log(notebook, clarinet, "D5 -50", "T R 1--")
    fix(notebook, piece, another, FixPlace(written("D5-50c"), bar=0))
    (change,) = open_sheets(notebook, piece).sheets[0].changes
    assert (change.bar_label, change.before, change.now) == ("1", "T R 12- | ---", "T R 1-- | ---")
    forget_sheet(notebook, piece, page.sheets[0].sheet_id)
    assert len(open_sheets(notebook, piece).sheets) == 2


def test_all_instruments_of_a_piece_stand_on_one_sheet(notebook: Notebook, clarinet: int) -> None:
    add_clarinet(notebook, "Spare")
    piece = add_typed_piece(notebook, clarinet, text=TEXT)
    assert "B-flat" in text_of(print_sheet(notebook, piece, paper=Paper.A4).pdf)


def test_strips_show_the_hard_bars_as_music_with_drawings(
    notebook: Notebook, clarinet: int
) -> None:
    ordinary = " | ".join(f"{bar}: C5 (1)" for bar in range(4, 9))
    piece = add_typed_piece(notebook, clarinet, text=f"{TEXT} | {ordinary} | 9: D5 -50, D5, D5 -50")
    log(notebook, clarinet, "D5 -50", "T R 12-")
    strips = [
        print_sheet(notebook, piece, paper=Paper.A4, kind=SheetKind.STRIPS).pdf for _ in range(2)
    ]
    assert strips[0] == strips[1]
    assert is_accessible(strips[0])
    assert is_tagged(strips[0])
    spoken = alternative_texts(strips[0])
    assert [each for each in spoken if "system" in each] == [
        "Bars 1 to 3, system 1",
        "Bar 9, system 1",
    ]
    # in each excerpt the fingering is drawn once, and is its letter after that
    drawn = [each for each in spoken if each.startswith(("Bar 1, D quarter", "Bar 9, D quarter"))]
    assert len(drawn) == 2
    assert text_of(strips[0]).count("A") >= 4
    assert [each.changes for each in open_sheets(notebook, piece).sheets] == [(), ()]


def test_a_sign_is_cancelled_by_a_natural_in_its_bar_only(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet, text="1: D5 -50, D5, D5 | 2: D5, E5 -50")
    page = open_piece(notebook, piece)
    (excerpt,) = compose_excerpts([(page.todo, page.decisions)], page.todo.writing)
    quarter_flat, natural = 0xE280, 0xE261  # SMuFL
    assert [each[0] for each in excerpt.signs.values()] == [
        (quarter_flat,), (natural,), (), (), (quarter_flat,)
    ]  # fmt: skip


@pytest.fixture
def long_sheet() -> SheetSpec:
    """Forty bars with the same two notes."""
    fingerings = [parse_fingering(each, load_layout(SOPRANO)) for each in ("T R 12-", "T R 1--")]
    notes = tuple(
        SheetNote((written(name),), "treble", each, "not tried", is_certain=False)
        for name, each in zip(("D5-50c", "E5+25c"), fingerings, strict=True)
    )
    bars = tuple(SheetBar(str(number), notes) for number in range(1, 41))
    return SheetSpec("Long", "", ("Invented",), bars)


def test_every_page_draws_each_fingering_once_with_its_letter(long_sheet: SheetSpec) -> None:
    fingerings = [note.fingering for bar in long_sheet.bars for note in bar.notes]
    assert list(find_letters(iter(fingerings)).values()) == ["A", "B"]
    pdf = render_bars(long_sheet)
    pages = PdfReader(BytesIO(pdf)).pages
    drawn = [each for each in alternative_texts(pdf) if "left 1" in each]
    assert len(drawn) == 2 * len(pages)
    assert len(pages) == 6
    spoken = alternative_texts(pdf)
    assert {f"Bar {number}: D quarter-flat 5" for number in range(1, 41)} <= set(spoken)


def find_figure_share() -> float:
    """Height of the figures of the chart's text face over its type size."""
    with TTFont(shipped_folder() / "figo.ttf") as font:
        glyph = font.getGlyphSet()[font.getBestCmap()[ord("2")]]
        pen = BoundsPen(None)
        glyph.draw(pen)
        return float(pen.bounds[3]) / float(font["head"].unitsPerEm)


def test_figures_and_letters_are_read_from_a_music_stand(long_sheet: SheetSpec) -> None:
    notes = tuple(
        replace(note, pitches=(written(name),), words="+7", is_certain=True)
        for note, name in zip(long_sheet.bars[0].notes, ("D5+13c", "E5+25c"), strict=True)
    )
    pdf = render_bars(replace(long_sheet, bars=(SheetBar("41", notes), SheetBar("42", notes))))
    sizes: dict[str, set[float]] = defaultdict(set)

    def keep(text: str, current: list[float], matrix: list[float], _: object, size: float) -> None:
        sizes[text.strip()].add(round(abs(size * matrix[3] * current[3]), 2))

    PdfReader(BytesIO(pdf)).pages[0].extract_text(visitor_text=keep)
    # 10 minutes of arc at 1.2 m (closed formula); a figure of the chart's face over its type size
    least_pt = 1200 * tan(radians(10 / 60)) / 25.4 * 72 / find_figure_share()
    for text in ("+7", "+13", "+25", "A", "B", "41"):
        assert min(sizes[text]) >= least_pt, text


def test_a_sheet_without_anything_says_so(long_sheet: SheetSpec) -> None:
    assert NOTHING.split(":", maxsplit=1)[0] in text_of(render_bars(replace(long_sheet, bars=())))


def test_a_bar_with_more_notes_than_a_page_holds_is_printed_whole(long_sheet: SheetSpec) -> None:
    crowded = SheetBar("7", long_sheet.bars[0].notes * 60, "slap " * 40)
    pdf = render_bars(replace(long_sheet, bars=(crowded,)))
    staves = [each for each in alternative_texts(pdf) if each.startswith("Bar 7: ")]
    assert len(staves) == 120
