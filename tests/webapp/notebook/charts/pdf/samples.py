"""Invented entries and charts for the tests of this folder."""

from dataclasses import replace
from datetime import date
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from analysis.keywork import KeyStates, State, load_layout, ordinary_fingerings
from analysis.pitch import WrittenPitch
from tests.pdf_text import read_text
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec

SOPRANO = load_layout("soprano-17-6")


def ordinary(note: str) -> KeyStates:
    """The ordinary fingering of a note on the soprano."""
    written = WrittenPitch.from_canonical(note)
    return next(each.fingering for each in ordinary_fingerings(SOPRANO) if each.written == written)


ENTRY = ChartEntry(
    written=WrittenPitch.from_canonical("D5-50c"),
    fingering=ordinary("C#5").replaced("l1", State.SHADED),
    base=ordinary("C#5"),
    offset_cents=-3.24,
    uncertainty_cents=1.06,
    take_count=3,
    resistance=4,
    strategy="raised from the lower neighbour",
    notes="Speaks softly.",
    tags=("slow", "trill"),
)

SPEC = ChartSpec(
    title="Quarter tones for winter",
    instrument_name="Invented B-flat",
    kind_name="B-flat soprano",
    setup_lines=("mouthpiece: open", "reed: 3"),
    tuning_a_hz=442,
    as_of=date(2026, 3, 14),
    entries=(ENTRY,),
)


def entry(**changes: Any) -> ChartEntry:
    """The sample entry with changes."""
    return replace(ENTRY, **changes)


def chart_of(*entries: ChartEntry, **changes: Any) -> ChartSpec:
    """The sample chart with these entries and changes."""
    return replace(SPEC, entries=entries, **changes)


def read(pdf: bytes) -> PdfReader:
    """Open a PDF."""
    return PdfReader(BytesIO(pdf))


def text_of(pdf: bytes) -> str:
    """All text of a PDF, its white space made single spaces."""
    return read_text(pdf)


def dictionary_in(holder: DictionaryObject, name: str) -> DictionaryObject:
    """A dictionary or stream that another one holds under this name."""
    held = holder[name].get_object()
    assert isinstance(held, DictionaryObject)
    return held
