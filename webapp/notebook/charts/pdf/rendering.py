"""Typesets a chart as PDF.

The template and the fonts are fixed, the specification goes in as JSON values: nothing a player
wrote is ever read as markup. The same specification gives the same bytes. The PDF is tagged and
meets PDF/UA-1 (ISO 14289-1), which refuses a character without a glyph; `fonts`
says where such a character's glyph is taken from.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from webapp.notebook.charts.pdf.boxes import BOX_FAMILY
from webapp.notebook.charts.pdf.feed import Fed, Report, feed_chart, keep_silent
from webapp.notebook.charts.pdf.fonts import (
    FAMILIES,
    load_fonts_with_boxes,
    load_shipped_fonts,
    load_system_fonts,
)
from webapp.notebook.charts.pdf.spec import ChartSpec

if TYPE_CHECKING:
    import typst

_FOLDER = Path(__file__).parent
_CHART = "chart.typ"
# The date inside a PDF that has no day of its own: any fixed one, so that its bytes stay the same.
_UNDATED = date(2000, 1, 1)


class _MissingGlyphError(Exception):
    """The typesetter refused a character that none of its fonts has."""


def render_chart(spec: ChartSpec, report: Report = keep_silent) -> bytes:
    """Make the PDF of a chart; `report` is told the share of its entries that is drawn."""
    return typeset(_CHART, feed_chart(spec, report), spec.as_of)


def typeset(template: str, feed: Fed, as_of: date | None) -> bytes:
    """Make the PDF of what a template of this folder is fed with."""
    fed: Fed = {**feed, "families": FAMILIES, "has_boxes": False}
    for load_fonts in (load_shipped_fonts, load_system_fonts):
        try:
            return _typeset(template, fed, load_fonts(), as_of)
        except _MissingGlyphError:
            continue
    boxed: Fed = {**fed, "families": (*FAMILIES, BOX_FAMILY), "has_boxes": True}
    with load_fonts_with_boxes(json.dumps(fed, ensure_ascii=False)) as fonts:
        try:
            return _typeset(template, boxed, fonts, as_of)
        except _MissingGlyphError:
            # A sequence that no font can shape although each character has a glyph: still tagged.
            return _typeset(template, boxed, fonts, as_of, is_accessible=False)


def _typeset(
    template: str,
    fed: Fed,
    fonts: typst.Fonts,
    as_of: date | None,
    *,
    is_accessible: bool = True,
) -> bytes:
    import typst

    try:
        return typst.compile(
            str(_FOLDER / template),
            root=str(_FOLDER),
            font_paths=fonts,
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"chart": json.dumps(fed, ensure_ascii=False)},
            pdf_standards="ua-1" if is_accessible else "1.7",
            timestamp=datetime.combine(as_of or _UNDATED, time(), UTC),
        )
    except typst.TypstError as problem:
        if "could not be displayed" in problem.message:
            raise _MissingGlyphError from problem
        raise
