"""The overview as PDF: as large as two pages allow, tagged, and nothing written breaks it."""

import pytest

from analysis.pitch import WrittenPitch
from tests.webapp.notebook.charts.pdf.samples import SPEC, entry, read, text_of
from webapp.notebook.charts.pdf import OverviewCell, OverviewSpec, render_overview
from webapp.notebook.charts.pdf.overview import choose_grid


@pytest.mark.parametrize(
    ("count", "grid"),
    [
        (1, (5, 4)), (20, (5, 4)), (21, (6, 5)), (42, (7, 6)), (43, (8, 6)), (49, (6, 5)),
        (79, (7, 6)), (96, (8, 6)), (97, (10, 8)), (160, (10, 8)), (500, (10, 8)),
    ],
)  # fmt: skip
def test_the_cells_are_the_largest_that_two_pages_hold(count: int, grid: tuple[int, int]) -> None:
    assert choose_grid(count) == grid


def test_a_cell_says_its_figure_and_where_it_comes_from() -> None:
    d, e = (WrittenPitch.from_canonical(note) for note in ("D5-50c", "E5"))
    hostile = "#panic[x] $y$ \u202e"
    spec = OverviewSpec(
        SPEC,
        (
            OverviewCell(d, entry(notes=hostile), "mine"),
            OverviewCell(e, None, "open"),
            OverviewCell(e, entry(offset_cents=None, notes=""), "to try", is_uncertain=True),
        ),
    )
    pdf = render_overview(spec)
    words = text_of(pdf)
    for shown in ("D 5", "−3.2 ± 1.1", "mine", "open", "to try", "common practice"):
        assert shown in words
    assert len(read(pdf).pages) == 1
    assert pdf == render_overview(spec)
