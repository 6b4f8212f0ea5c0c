"""One drawing as a file for other programs: PNG or PDF, made by the typesetter's own SVG reader.

The drawing comes as SVG from `webapp.drawing`; its text is set in the chart's fonts, so that the
same drawing gives the same bytes on every computer.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

from webapp.notebook.charts.pdf.fonts import FAMILIES, load_shipped_fonts

if TYPE_CHECKING:
    import typst

PIXELS_WIDE = 1200
# A drawing has no day of its own; a PDF wants one, the same every time.
_UNDATED = datetime(2000, 1, 1, tzinfo=UTC)
_PAGE_WIDTH_PT = 240
_POINTS_PER_INCH = 72
# The drawing comes in as a value; nothing of it is read as markup. White, so that the black lines
# stay readable where the picture is put on something dark.
_TEMPLATE = b"""
#let drawn = json(bytes(sys.inputs.picture))
#set text(font: drawn.families, lang: "en")
#set document(title: drawn.title)
#set page(width: 240pt, height: auto, margin: 0pt, fill: white)
#image(bytes(drawn.svg), format: "svg", width: 100%, alt: drawn.title)
"""


def render_png(svg: str, *, title: str) -> bytes:
    """Make a PNG, `PIXELS_WIDE` wide, of a drawing that `title` names."""
    return _typeset(svg, title, "png", ppi=PIXELS_WIDE * _POINTS_PER_INCH / _PAGE_WIDTH_PT)


def render_pdf(svg: str, *, title: str) -> bytes:
    """Make a PDF page of the size of a drawing that `title` names."""
    return _typeset(svg, title, "pdf")


def _typeset(
    svg: str, title: str, kind: Literal["png", "pdf"], *, ppi: float | None = None
) -> bytes:
    import typst

    fonts: typst.Fonts = load_shipped_fonts()
    picture = {"svg": svg, "title": title, "families": FAMILIES}
    return typst.compile(
        _TEMPLATE,
        font_paths=fonts,
        ignore_system_fonts=True,
        format=kind,
        ppi=ppi,
        timestamp=_UNDATED,
        sys_inputs={"picture": json.dumps(picture, ensure_ascii=False)},
    )
