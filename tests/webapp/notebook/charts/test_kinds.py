"""Kinds of charts: what stands on an overview of the range and on a chart for the stand.

That a B-flat soprano is ordinary from E3 to G6 is common practice, from memory: 40 semitones and 79
quarter tones (closed formula: 39 n + 1).
"""

import re
from datetime import date
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from tests.pdf_text import read_pages
from tests.thinning import each_daily
from tests.webapp.logging_rows import TakeMaker, add_clarinet, log
from webapp.notebook.charts import charts
from webapp.notebook.charts.charts import ChartChoice, ChartKind, name_file
from webapp.notebook.charts.kinds import compose_chart_of_kind, make_chart_of_kind
from webapp.notebook.charts.pdf import (
    AnySpec,
    ChartSpec,
    OverviewCell,
    OverviewSpec,
    Paper,
    StandSpec,
    render,
)
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import GivenUp
from webapp.notebook.store.rows import Role
from webapp.notebook.targets.choices import WordDraft, say_word, set_tolerance

KEYS = "T R 123 | 12-"
# D5 of a B-flat soprano sounds C5, 300 cents above A4 = 440 Hz (closed formula).
D5_HZ = 440 * 2 ** (300 / 1200)


@pytest.fixture
def soprano(notebook: Notebook) -> int:
    """A B-flat soprano."""
    return add_clarinet(notebook, "Invented B-flat")


def make(notebook: Notebook, instrument: int, **choice: Any) -> charts.Chart:
    return make_chart_of_kind(notebook, ChartChoice(instrument, **choice), writing=Writing())


def catch(caught: list[AnySpec], spec: AnySpec) -> bytes:
    """Keep what was to be typeset."""
    caught.append(spec)
    return b"%PDF"


def cells_of(
    notebook: Notebook, instrument: int, monkeypatch: pytest.MonkeyPatch, **choice: Any
) -> dict[str, OverviewCell]:
    """The cells of an overview by their notes; nothing is typeset."""
    specs: list[OverviewSpec] = []

    def keep(spec: OverviewSpec) -> bytes:
        specs.append(spec)
        return b"%PDF"

    monkeypatch.setattr(charts, "render", keep)
    make(notebook, instrument, kind=ChartKind.OVERVIEW, **choice)
    assert specs[0].chart.entries == tuple(
        cell.entry for cell in specs[0].cells if cell.entry is not None
    )
    return {cell.written.canonical: cell for cell in specs[0].cells}


def test_an_overview_has_every_step_with_the_best_or_chosen_fingering(
    notebook: Notebook, soprano: int, take_maker: TakeMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    sharp = log(notebook, soprano, "D5", "T R 123 | 12- | right cross")
    best = log(notebook, soprano, "D5", KEYS)
    take_maker(notebook, sharp, D5_HZ * 2 ** (20 / 1200))
    take_maker(notebook, best, D5_HZ * 2 ** (3 / 1200))
    untried = log(notebook, soprano, "F5 +50", KEYS)
    cells = cells_of(notebook, soprano, monkeypatch)
    assert len(cells) == 79
    d5, f5 = cells["D5"], cells["F5+50c"]
    assert d5.entry is not None and f5.entry is not None
    assert d5.entry.offset_cents == pytest.approx(3, abs=0.01)
    assert (d5.words, d5.is_uncertain) == ("", False)
    assert (f5.words, f5.is_uncertain) == ("not tried", True)
    assert (cells["E5"].words, cells["E5"].is_uncertain) == ("ordinary", False)
    assert (cells["E5+50c"].words, cells["E5+50c"].entry) == ("open", None)

    say_word(notebook, sharp, WordDraft(Role.MINE))
    say_word(notebook, untried, WordDraft(Role.MINE))
    cells = cells_of(notebook, soprano, monkeypatch)
    d5 = cells["D5"]
    assert d5.entry is not None and d5.entry.offset_cents == pytest.approx(20, abs=0.01)
    assert d5.words == "mine"
    assert cells["F5+50c"].words == "mine, not tried"


def test_the_range_and_the_steps_of_an_overview_can_be_chosen(
    notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    high = add_clarinet(notebook, "high", highest="C7")
    cells = cells_of(notebook, high, monkeypatch, steps=12)
    notes = list(cells)
    assert (notes[0], notes[-1], len(notes)) == ("E3", "C7", 45)
    assert (cells["A6"].words, cells["A6"].is_uncertain) == ("to try", True)
    assert cells["G6"].words == "ordinary"
    cells = cells_of(notebook, high, monkeypatch, steps=24, low="D5", high="E5")
    assert list(cells) == ["D5", "D5+50c", "Eb5", "E5-50c", "E5"]
    with pytest.raises(FieldRefused):
        make(notebook, high, kind=ChartKind.OVERVIEW, low="E5", high="D5")


@pytest.mark.parametrize(("paper", "steps"), each_daily(tuple(Paper), (12, 24, 48)))
def test_the_whole_range_takes_one_or_two_pages(
    notebook: Notebook, soprano: int, steps: int, paper: Paper
) -> None:
    made = make(notebook, soprano, kind=ChartKind.OVERVIEW, steps=steps, paper=paper)
    reader = PdfReader(BytesIO(made.pdf))
    assert len(reader.pages) == (1 if steps == 12 else 2)
    words = read_pages(made.pdf)[0]
    assert "Overview for Invented B-flat" in words
    assert "ordinary" in words


def test_a_stand_chart_has_what_the_list_has_four_or_six_a_page(
    notebook: Notebook, soprano: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(7):
        log(notebook, soprano, f"D5 {-50 + number}", KEYS)
    pages = [
        len(PdfReader(BytesIO(make(notebook, soprano, kind=ChartKind.STAND).pdf)).pages),
    ]
    bass = add_clarinet(notebook, "bass", kind_id="b-flat-bass", layout_id="bass-low-c")
    for number in range(7):
        log(notebook, bass, f"D5 {-50 + number}", KEYS, layout_id="bass-low-c")
    pages.append(len(PdfReader(BytesIO(make(notebook, bass, kind=ChartKind.STAND).pdf)).pages))
    assert pages == [2, 2]  # six and one, four and three

    caught: list[AnySpec] = []
    monkeypatch.setattr(charts, "render", lambda spec: catch(caught, spec))
    for kind in (ChartKind.LIST, ChartKind.STAND):
        make(notebook, soprano, kind=kind)
    listed, for_stand = caught
    assert isinstance(listed, ChartSpec)
    assert for_stand == StandSpec(listed)


def test_a_note_with_a_tolerance_of_its_own_is_drawn_with_it(
    notebook: Notebook, soprano: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    log(notebook, soprano, "D5", KEYS)
    log(notebook, soprano, "E5", KEYS)
    set_tolerance(notebook, soprano, "D5", 4.0)
    caught: list[AnySpec] = []
    monkeypatch.setattr(charts, "render", lambda spec: catch(caught, spec))
    make(notebook, soprano)
    assert isinstance(caught[0], ChartSpec)
    usual = Writing().tolerance_cents
    assert [each.tolerance_cents for each in caught[0].entries] == [4.0, usual]


@pytest.mark.parametrize("kind", ChartKind)
def test_every_kind_reports_the_share_that_is_drawn_and_ends_where_that_raises(
    notebook: Notebook, soprano: int, kind: ChartKind
) -> None:
    for number in range(45):
        log(notebook, soprano, f"D5 {-45 + number}", KEYS)
    choice = ChartChoice(soprano, kind=kind, steps=12)
    composed = compose_chart_of_kind(notebook, choice, writing=Writing())
    shares: list[float] = []

    def report(share: float) -> None:
        shares.append(share)
        if share > 0.0:
            raise GivenUp

    with pytest.raises(GivenUp):
        render(composed.spec, report)
    # after twenty of 45 entries, or of the 40 steps of the overview
    assert shares == [0.0, 20 / composed.entry_count]


@pytest.mark.parametrize(
    ("name", "title", "kind", "expected"),
    [
        ("Bb, pear wood", "", ChartKind.LIST, "bb-pear-wood-fingerings"),
        ("Bb, pear wood", "", ChartKind.OVERVIEW, "bb-pear-wood-overview"),
        ("Bb", "", ChartKind.STAND, "bb-stand-chart"),
        ("Bb", "  Étude no. 3 / slow  ", ChartKind.LIST, "etude-no-3-slow"),
        ("クラリネット", "", ChartKind.LIST, "fingerings"),
        ("x" * 200, "", ChartKind.LIST, "x" * 60),
        ("../../etc", '"; rm', ChartKind.LIST, "rm"),
    ],
)
def test_the_file_is_named_after_what_it_is(
    notebook: Notebook, name: str, title: str, kind: ChartKind, expected: str
) -> None:
    instrument = open_instrument(notebook, add_clarinet(notebook, name[:120]))
    made = name_file(instrument, ChartChoice(1, kind=kind, title=title), date(2026, 3, 14))
    assert made == f"{expected}-2026-03-14.pdf"
    assert re.fullmatch(r"[a-z0-9-]+\.pdf", made)
