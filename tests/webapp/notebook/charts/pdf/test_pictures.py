"""A drawing as PNG and PDF.

Truth: PNG (ISO/IEC 15948) says its size in its first chunk; the page of the PDF has the drawing's
shape (arithmetic on its view box).
"""

import struct
from io import BytesIO

import pytest
from pypdf import PdfReader

from analysis.keywork import load_layout, parse_fingering
from webapp.drawing import draw_fingering
from webapp.notebook.charts.pdf.pictures import PIXELS_WIDE, render_pdf, render_png

LAYOUT = load_layout("soprano-17-6")
SVG = draw_fingering(parse_fingering("T R (1)23 | 1-- | right E", LAYOUT))


def test_the_png_has_the_shape_of_the_drawing() -> None:
    content = render_png(SVG, title="T R")
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", content[16:24])
    assert width == PIXELS_WIDE
    assert height == pytest.approx(PIXELS_WIDE * LAYOUT.view_box[3] / LAYOUT.view_box[2], abs=2)


def test_the_pdf_is_one_page_with_its_title_and_readable_labels() -> None:
    reader = PdfReader(BytesIO(render_pdf(SVG, title='T R #[hostile] "title"')))
    (page,) = reader.pages
    assert reader.metadata is not None
    assert reader.metadata.title == 'T R #[hostile] "title"'
    assert page.mediabox.height / page.mediabox.width == pytest.approx(
        LAYOUT.view_box[3] / LAYOUT.view_box[2], rel=0.01
    )
    assert "left" in page.extract_text()


def test_the_same_drawing_gives_the_same_bytes() -> None:
    for render in (render_png, render_pdf):
        assert render(SVG, title="T") == render(SVG, title="T")
