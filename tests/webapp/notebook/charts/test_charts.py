"""What stands on a chart, in which order, and always in the same bytes.

The typesetting itself is tested with `webapp.notebook.charts.pdf`; here a stand-in catches what is
handed to it, but for the last tests, which read real PDFs.
"""

import re
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from analysis.finder import Strategy
from analysis.pitch import SIGN_SYSTEMS, NoteNames, SystemId
from tests.pdf_text import read_pages
from tests.webapp.logging_rows import Filled, TakeMaker, add_clarinet, log
from tests.webapp.snapshots import counted_queries
from webapp.notebook.charts import charts
from webapp.notebook.charts.charts import ChartChoice, ChartOrder, make_chart
from webapp.notebook.charts.pdf import ChartSpec, Paper
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.choices import WordDraft, say_word

KEYS = "T R 123 | 12-"
HALF = "T R 1(2)3 | 12-"


@pytest.fixture
def soprano(notebook: Notebook) -> int:
    """A B-flat soprano."""
    return add_clarinet(notebook, "Invented B-flat", reed="3", barrel="64 mm")


@pytest.fixture
def spec_of(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> "SpecReader":
    """Catch what is handed to the typesetter."""
    return SpecReader(notebook, monkeypatch)


class SpecReader:
    """Makes charts without typesetting them."""

    def __init__(self, notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
        self.notebook = notebook
        self.specs: list[ChartSpec] = []

        def catch(spec: ChartSpec) -> bytes:
            self.specs.append(spec)
            return b"%PDF"

        monkeypatch.setattr(charts, "render", catch)

    def __call__(
        self, instrument: int, *, writing: Writing | None = None, **choice: Any
    ) -> ChartSpec:
        wanted = ChartChoice(instrument, **choice)
        make_chart(self.notebook, wanted, writing=writing or Writing())
        return self.specs[-1]

    def targets(self, instrument: int, **choice: Any) -> list[str]:
        """The targets in printing order."""
        spec = self(instrument, writing=None, **choice)
        return [each.written.canonical for each in spec.entries]


def test_everything_that_speaks_stands_from_low_to_high(
    notebook: Notebook, soprano: int, spec_of: SpecReader
) -> None:
    for target in ("D5 -50", "E4 -50", "G5 +50"):
        log(notebook, soprano, target, KEYS)
    log(notebook, soprano, "A4 +50", KEYS, does_not_speak=True)
    put_in_bin(notebook, "fingering", log(notebook, soprano, "F4", KEYS))
    log(notebook, add_clarinet(notebook, "other"), "C5", KEYS)
    assert spec_of.targets(soprano) == ["E4-50c", "D5-50c", "G5+50c"]
    assert spec_of.targets(soprano, order=ChartOrder.FALLING) == ["G5+50c", "D5-50c", "E4-50c"]
    assert spec_of.targets(soprano, order=ChartOrder.NEWEST) == ["G5+50c", "E4-50c", "D5-50c"]
    assert "A4+50c" in spec_of.targets(soprano, has_failures=True)


def test_the_ends_of_the_range_belong_to_it(
    notebook: Notebook, soprano: int, spec_of: SpecReader
) -> None:
    for target in ("C5", "D5 -50", "D5", "E5"):
        log(notebook, soprano, target, KEYS)
    assert spec_of.targets(soprano, low="Dqf5", high="D5") == ["D5-50c", "D5"]
    assert spec_of.targets(soprano, low="D5") == ["D5", "E5"]
    assert spec_of.targets(soprano, high="C5") == ["C5"]
    assert spec_of.targets(soprano, low="E5", high="E5") == ["E5"]


@pytest.mark.parametrize(
    ("choice", "field"),
    [
        ({"low": "nonsense"}, "low"),
        ({"high": "D"}, "high"),
        ({"low": "D5", "high": "C5"}, "high"),
    ],
)
def test_a_range_that_cannot_be_read_names_its_field(
    soprano: int, spec_of: SpecReader, choice: dict[str, object], field: str
) -> None:
    with pytest.raises(FieldRefused) as caught:
        spec_of(soprano, writing=None, **choice)
    assert caught.value.field == field


def test_filters_narrow_the_chart(
    notebook: Notebook, soprano: int, spec_of: SpecReader, take_maker: TakeMaker
) -> None:
    log(notebook, soprano, "C5", KEYS, strategy=Strategy.RAISED, resistance=2)
    log(notebook, soprano, "D5", HALF, resistance=5)
    measured = log(notebook, soprano, "E5", KEYS)
    take_maker(notebook, measured, 600.0)  # 37 cents above E5 (closed formula): printed there
    assert spec_of.targets(soprano, strategy=Strategy.RAISED) == ["C5"]
    assert spec_of.targets(soprano, highest_resistance=3) == ["C5"]
    assert spec_of.targets(soprano, is_without_half_holes=True) == ["C5", "E5+50c"]
    assert spec_of.targets(soprano, is_measured_only=True) == ["E5+50c"]


def test_choices_can_be_charted_and_stand_under_the_note_they_are_for(
    notebook: Notebook, soprano: int, spec_of: SpecReader, take_maker: TakeMaker
) -> None:
    mine = log(notebook, soprano, "D5", KEYS, notes="Warm.")
    log(notebook, soprano, "D5", KEYS)
    assert spec_of.targets(soprano, is_choice_only=True) == []
    say_word(notebook, mine, WordDraft(Role.MINE))
    say_word(notebook, mine, WordDraft(Role.MINE, "D5 -40", Circumstance.SOFT))
    take_maker(notebook, mine, 440 * 2 ** ((300 - 10) / 1200))
    entries = spec_of(soprano, is_choice_only=True).entries
    assert [(each.written.canonical, each.notes) for each in entries] == [
        ("D5-40c", "Your choice for soft notes. Logged for D5. Warm."),
        ("D5", "Your choice. Warm."),
    ]
    assert [each.offset_cents for each in entries] == pytest.approx([30.0, -10.0])
    say_word(notebook, mine, WordDraft(Role.REJECTED, reason="shrill"))
    entries = spec_of(soprano).entries
    assert [each.notes for each in entries if each.written.canonical == "D5"] == [
        "", "Rejected: shrill. Warm.",
    ]  # fmt: skip


def test_the_best_for_each_note_is_in_tune_near_whole_and_free(
    notebook: Notebook, soprano: int, spec_of: SpecReader, take_maker: TakeMaker
) -> None:
    def best() -> str:
        (entry,) = spec_of(soprano, is_best_only=True, has_failures=True).entries
        return entry.notes

    def sound(offset_cents: float) -> float:
        return float(440 * 2 ** ((300 + offset_cents) / 1200))  # written D5 sounds C5

    log(notebook, soprano, "D5", KEYS, notes="silent", does_not_speak=True)
    assert best() == "silent"
    log(notebook, soprano, "D5", HALF, notes="half-hole")
    assert best() == "half-hole"
    log(notebook, soprano, "D5", KEYS, notes="stuffy", resistance=5)
    assert best() == "stuffy"
    log(notebook, soprano, "D5", KEYS, notes="free", resistance=1)
    assert best() == "free"
    take_maker(notebook, log(notebook, soprano, "D5", HALF, notes="sharp"), sound(20))
    assert best() == "sharp"
    take_maker(notebook, log(notebook, soprano, "D5", HALF, notes="in tune"), sound(-3))
    assert best() == "in tune"
    mine = log(notebook, soprano, "D5", HALF, notes="mine", resistance=5)
    say_word(notebook, mine, WordDraft(Role.MINE))
    assert best() == "Your choice. mine"


def test_an_entry_is_spelled_with_the_sign_it_was_logged_with(
    notebook: Notebook, soprano: int, spec_of: SpecReader
) -> None:
    log(notebook, soprano, "C#5 +40", KEYS)
    (entry,) = spec_of(soprano).entries
    assert entry.written.sign_cents == 100


def test_an_entry_carries_its_evidence_and_words(
    notebook: Notebook, soprano: int, spec_of: SpecReader, take_maker: TakeMaker
) -> None:
    fingering = log(
        notebook, soprano, "D5 -50", KEYS, base="ordinary:D5:1", strategy=Strategy.LOWERED,
        resistance=4, notes="only soft", tags=("b", "a"),
    )  # fmt: skip
    take_maker(notebook, fingering, 440 * 2 ** (260 / 1200))
    (entry,) = spec_of(soprano).entries
    assert entry.offset_cents == pytest.approx(10)
    assert entry.take_count == 1
    assert entry.strategy == Strategy.LOWERED.words
    assert (entry.resistance, entry.notes, entry.tags) == (4, "only soft", ("a", "b"))
    assert entry.base is not None
    assert entry.fingering != entry.base


def test_the_foot_says_which_instrument_and_set_up_at_which_tuning(
    notebook: Notebook, spec_of: SpecReader
) -> None:
    instrument = add_clarinet(notebook, "Mine", tuning_a_hz=442.0, reed="3", mouthpiece="open")
    spec = spec_of(
        instrument, writing=Writing(NoteNames.GERMAN, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH], 5.0),
        paper=Paper.LETTER,
    )  # fmt: skip
    assert spec.title == "Fingerings for Mine"
    assert (spec.instrument_name, spec.kind_name) == ("Mine", "B-flat soprano")
    assert spec.setup_lines == ("Mouthpiece: open", "Reed: 3")
    assert spec.tuning_a_hz == 442.0
    assert spec.names is NoteNames.GERMAN
    assert spec.accidental_style == SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH]
    assert spec.tolerance_cents == 5.0
    assert spec.paper is Paper.LETTER
    assert spec_of(instrument, title="  For the stand ").title == "For the stand"


def test_an_empty_instrument_makes_an_empty_chart(soprano: int, spec_of: SpecReader) -> None:
    assert spec_of(soprano).entries == ()


def test_too_long_a_chart_is_refused_with_a_way_out(
    notebook: Notebook, soprano: int, spec_of: SpecReader, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(charts, "ENTRY_LIMIT", 2)
    for _ in range(3):
        log(notebook, soprano, "D5", KEYS)
    with pytest.raises(FieldRefused, match="smaller range"):
        spec_of(soprano)
    put_in_bin(notebook, "fingering", 1)
    assert len(spec_of(soprano).entries) == 2


def test_there_is_no_chart_of_what_is_not_there(notebook: Notebook, spec_of: SpecReader) -> None:
    with pytest.raises(NotInNotebook):
        spec_of(99)


def test_a_chart_takes_as_many_queries_for_many_entries(
    notebook: Notebook, soprano: int, spec_of: SpecReader
) -> None:
    log(notebook, soprano, "D5", KEYS)
    with counted_queries(notebook) as few:
        spec_of(soprano)
    for _ in range(10):
        log(notebook, soprano, "D5", KEYS, base="logged:1", tags=("a", "b"))
    with counted_queries(notebook) as many:
        spec_of(soprano)
    assert len(many) == len(few)


def test_the_same_notebook_prints_the_same_bytes(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    prints = [make_chart(notebook, ChartChoice(rows.soprano), writing=Writing()) for _ in range(2)]
    assert prints[0] == prints[1]
    assert prints[0].entry_count == 4
    assert re.fullmatch(r"invented-b-flat-fingerings-\d{4}-\d\d-\d\d\.pdf", prints[0].file_name)


@pytest.mark.parametrize(
    ("paper", "size_mm"), [(Paper.A4, (210, 297)), (Paper.LETTER, (215.9, 279.4))]
)
def test_a_chart_is_a_pdf_on_the_chosen_paper(
    filled: tuple[Notebook, Filled], paper: Paper, size_mm: tuple[float, float]
) -> None:
    # ISO 216 A4; ANSI/ASME Y14.1 A (8.5 by 11 inches). PDF units are 1/72 inch.
    notebook, rows = filled
    chart = make_chart(
        notebook, ChartChoice(rows.soprano, paper=paper, title="My own title"), writing=Writing()
    )
    reader = PdfReader(BytesIO(chart.pdf))
    box = reader.pages[0].mediabox
    width_mm, height_mm = (float(length) / 72 * 25.4 for length in (box.width, box.height))
    assert (width_mm, height_mm) == pytest.approx(size_mm, abs=0.1)
    words = read_pages(chart.pdf)[0]
    for wanted in ("My own title", "Invented B-flat", "First of its line", "440"):
        assert wanted in words
