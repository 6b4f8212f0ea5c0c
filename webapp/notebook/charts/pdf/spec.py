"""Specification of a chart: the types its caller fills in.

Everything here is already computed: a chart shows, it doesn't measure, search or sort. Entries are
printed in the order given. All text is the player's own and may hold anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from analysis.keywork import KeyStates
from analysis.pitch import STEIN_ZIMMERMANN, NoteNames, SignSystem, WrittenPitch


class Paper(StrEnum):
    """The sheet to print on."""

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True, slots=True)
class ChartPrediction:
    """What is expected of a fingering that nobody has measured: a prediction, never evidence."""

    offset_cents: float
    sigma_cents: float


@dataclass(frozen=True, slots=True)
class ChartEntry:
    """One fingering of the chart, with its evidence and the player's words.

    `offset_cents` is the pooled offset from the written target and `uncertainty_cents` one standard
    deviation of it; both are None while nothing has been measured. `resistance` goes from 1 (free)
    to 5 (very resistant). An entry with a `prediction` has no evidence; it is printed in a dashed
    frame and says that it is predicted. `tolerance_cents` is what its note has of its own.
    """

    written: WrittenPitch
    fingering: KeyStates
    base: KeyStates | None = None
    offset_cents: float | None = None
    uncertainty_cents: float | None = None
    take_count: int = 0
    resistance: int | None = None
    strategy: str = ""
    notes: str = ""
    tags: tuple[str, ...] = ()
    does_not_speak: bool = False
    prediction: ChartPrediction | None = None
    tolerance_cents: float | None = None


@dataclass(frozen=True, slots=True)
class ChartSpec:
    """A whole chart: one instrument, its set-up, and the chosen entries in printing order.

    A chart of ordinary fingerings (`has_evidence` off) says nothing of offsets, tuning A and
    resistance, since nothing in it was measured. Without `as_of` no date is printed.
    """

    title: str
    instrument_name: str
    kind_name: str
    setup_lines: tuple[str, ...]
    tuning_a_hz: float
    as_of: date | None
    entries: tuple[ChartEntry, ...]
    paper: Paper = Paper.A4
    accidental_style: SignSystem = STEIN_ZIMMERMANN
    names: NoteNames = NoteNames.ENGLISH
    clef: str = "treble"
    tolerance_cents: float = 5.0
    has_evidence: bool = True
