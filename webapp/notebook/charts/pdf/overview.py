"""Overview chart: the whole range on one or two pages, one fingering a step.

What the template lays out is plain values, as for the chart of all fingerings (`feed`). How many
steps a page holds follows from how many there are: cells are as large as two pages allow, and from
a hundred steps up they have no staff.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from analysis.pitch import WrittenPitch
from webapp.drawing import Profile
from webapp.notebook.charts.pdf.feed import (
    Fed,
    Report,
    feed_fingering,
    feed_head,
    feed_name,
    feed_staff,
    find_figure,
    keep_silent,
    reported,
)
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartSpec

_TEMPLATE = "overview.typ"
# Columns and rows of a page, the largest cells first; the last ones are small and have no staff.
_GRIDS = ((5, 4), (6, 5), (7, 6), (8, 6), (10, 8))

HOW_TO_READ = (
    "Filled is held, outlined is open, half filled is a half-hole, filled round a small hole is a "
    "plate held with its small hole open. "
    "Figures are cents from the written note, ± one standard deviation. Ordinary fingerings are "
    "common practice, from memory; to try is what nobody calls ordinary. In a dashed frame stands "
    "what was never measured on this instrument and is no ordinary fingering."
)


@dataclass(frozen=True, slots=True)
class OverviewCell:
    """One step of the range, with the fingering for it if there is one.

    `words` say where that comes from, such as 'mine', 'ordinary', 'to try', or that it is open.
    """

    written: WrittenPitch
    entry: ChartEntry | None
    words: str
    is_uncertain: bool = False


@dataclass(frozen=True, slots=True)
class OverviewSpec:
    """An overview: head and writing of a chart, whose entries are those of the cells."""

    chart: ChartSpec
    cells: tuple[OverviewCell, ...]


def choose_grid(count: int) -> tuple[int, int]:
    """Choose columns and rows of a page for so many cells; more than two pages hold go on.

    >>> choose_grid(40), choose_grid(79), choose_grid(157)
    ((7, 6), (7, 6), (10, 8))
    """
    with_staff = _GRIDS[:-1]
    one_page = [grid for grid in with_staff if count <= math.prod(grid)]
    two_pages = [grid for grid in with_staff if count <= 2 * math.prod(grid)]
    return next(iter((*one_page, *two_pages)), _GRIDS[-1])


def render_overview(spec: OverviewSpec, report: Report = keep_silent) -> bytes:
    """Make the PDF of an overview; `report` is told the share of its steps that is drawn."""
    columns, rows = choose_grid(len(spec.cells))
    on_a_page = columns * rows
    has_staff = columns < _GRIDS[-1][0]
    cells = [_feed_cell(spec, cell, has_staff=has_staff) for cell in reported(spec.cells, report)]
    fed: Fed = {
        **feed_head(spec.chart),
        "columns": columns,
        "rows": rows,
        "pages": [cells[first : first + on_a_page] for first in range(0, len(cells), on_a_page)],
        "how_to_read": HOW_TO_READ,
    }
    return typeset(_TEMPLATE, fed, spec.chart.as_of)


def _feed_cell(spec: OverviewSpec, cell: OverviewCell, *, has_staff: bool) -> Fed:
    chart, entry = spec.chart, cell.entry
    figure, spread = ("", "") if entry is None else find_figure(chart, entry)
    is_figure = entry is not None and entry.offset_cents is not None
    return {
        "name": feed_name(chart, cell.written),
        "staff": feed_staff(chart, cell.written, is_close=True) if has_staff else None,
        "fingering": entry and feed_fingering(chart, entry, profile=Profile.SMALL),
        "figure": f"{figure} {spread}" if is_figure else "",
        "words": cell.words,
        "uncertain": cell.is_uncertain,
    }
