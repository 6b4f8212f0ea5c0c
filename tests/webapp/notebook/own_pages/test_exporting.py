"""Own pages as PDF: the original untouched below, true to size, marks above, the list tagged.

Truth: `pypdf` reads what was written; sizes are those of ISO 216 and ANSI Y14.1.
"""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import StreamObject

from tests.analysis.paper.papers import A4_POINTS, pdf, photo
from tests.webapp.logging_rows import log
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page
from webapp.notebook.own_pages.exporting import export_own_pages
from webapp.notebook.own_pages.files import PageUpload, add_pages, start_from_pages
from webapp.notebook.own_pages.marks import MarkDraft, Spot, add_mark
from webapp.notebook.own_pages.opening import open_own_pages
from webapp.notebook.store.notebook import Notebook

LETTER_POINTS = (612.0, 792.0)


def exported(notebook: Notebook, piece: int) -> tuple[bytes, PdfReader]:
    found = export_own_pages(notebook, piece)
    assert found is not None
    return found.content, PdfReader(BytesIO(found.content))


@pytest.fixture
def piece(notebook: Notebook, soprano: int) -> int:
    """Pages of three kinds: two of a PDF, one of them turned, and a photo."""
    files = [
        PageUpload(BytesIO(pdf(A4_POINTS, LETTER_POINTS, words="Sonata")), "a.pdf"),
        PageUpload(BytesIO(pdf(words="Turned", rotate=90)), "b.pdf"),
        PageUpload(BytesIO(photo(turned=True, note="at home")), "c.jpg"),
    ]
    piece = start_from_pages(notebook, files, [soprano], "Étude № 1 東")
    log(notebook, soprano, "D5 -50", "T R 123 | 12-")
    pages = open_own_pages(notebook, piece).pages
    for x, note in ((40, "D5 -50"), (44, "D5 -50"), (90, "A5 +50")):
        add_mark(notebook, piece, pages[0].file.id, Spot(0, x, 50), MarkDraft(note, "12"))
    add_mark(notebook, piece, pages[3].file.id, Spot(0, 60, 60), MarkDraft("D5 -50", "40"))
    return piece


def test_pages_are_as_large_as_they_were_and_the_list_follows(
    notebook: Notebook, piece: int
) -> None:
    content, read = exported(notebook, piece)
    sizes = [tuple(round(float(side), 1) for side in page.mediabox[2:]) for page in read.pages]
    assert sizes == [
        (595.3, 841.9), (612.0, 792.0), (841.9, 595.3),
        (595.3, 793.7),  # 210 by 280 mm: the photo is 3 by 4
        (595.3, 841.9),
    ]  # fmt: skip
    assert exported(notebook, piece)[0] == content


def test_the_text_of_the_part_and_of_the_marks_can_be_selected(
    notebook: Notebook, piece: int
) -> None:
    _, read = exported(notebook, piece)
    first, second, third, photo_page, last = (page.extract_text() for page in read.pages)
    assert "Sonata" in first
    assert "A" in first.replace("Sonata", "")
    assert "?" in first  # the note that is open
    assert ("Sonata" in second, "Turned" in third, photo_page.strip()) == (True, True, "A")
    words = " ".join(last.split())
    assert "D quarter-flat 5" in words
    assert "page 1, bar 12; page 4, bar 40" in words
    assert "A three-quarter" not in words
    assert "/StructTreeRoot" in read.root_object


def test_the_original_lies_below_as_vectors_and_the_photo_bare(
    notebook: Notebook, piece: int
) -> None:
    content, read = exported(notebook, piece)
    streams = [each for each in map(read.get_object, range(1, len(read.xref[0])))
               if isinstance(each, StreamObject)]  # fmt: skip
    drawn = b"".join(each.get_data() for each in streams if each.get("/Subtype") == "/Form")
    assert drawn.count(b" l S") >= 5  # the staff of `pdf`, as it was written there
    assert not read.pages[0].images
    assert b"at home" not in content
    (image,) = read.pages[3].images
    assert Image.open(BytesIO(image.data)).size == (300, 400)


def test_a_piece_without_pages_gives_none_and_one_without_marks_says_so(
    notebook: Notebook, soprano: int
) -> None:
    piece = add_typed_piece(notebook, soprano)
    assert export_own_pages(notebook, piece) is None
    mark_a_page(notebook, piece)
    _, read = exported(notebook, piece)
    assert "Nothing is marked yet." in read.pages[1].extract_text()
    add_pages(notebook, piece, [PageUpload(BytesIO(photo("PNG")), "d.png")])
    assert len(exported(notebook, piece)[1].pages) == 3
