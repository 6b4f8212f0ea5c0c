"""The whole written range of an instrument, step by step of a grid: what is proven, what is open.

The range goes from the lowest note of the instrument's keywork to the ordinary top of its kind, and
further up where something is logged there. Every fingering counts for one step at most, the one
nearest to where it is known to sound (`range_rows`). The best of a step is the first in the order
of the search, those that are proven before all others.

A step stands for the best that is known of it: proven, else predicted for something that waits to
be measured, else logged, else an ordinary note, else open. Nothing is predicted here: what was
predicted when it was taken up is only read. Ordinary notes that the player has not logged are no
gap: every player knows them.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

from sqlalchemy.orm import Session

from analysis.keywork import Layout, ordinary_fingerings
from analysis.pitch import KINDS, EqualDivision, Register, Side, WrittenPitch, register_of
from webapp.notebook.csv_tables import Cell
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.range_rows import (
    BestEntry,
    Forecast,
    Ladder,
    count_outside,
    count_silent,
    find_best,
    find_forecasts,
    find_highest,
)
from webapp.notebook.targets.search import SearchQuery, check_tolerance

GRIDS = (12, 24, 48)
# What is logged higher above the ordinary top is a slip of the pen or of the ear.
HIGHEST_ABOVE_TOP_CENTS = 1200


class Standing(StrEnum):
    """What a step stands for."""

    PROVEN = "proven"
    PREDICTED = "predicted"
    LOGGED = "not measured"
    ORDINARY = "ordinary note"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class RangeStep:
    """One step, the best that is known of it, and how much else counts for it.

    `speaking` and `silent` count the logged fingerings, the best included.
    """

    written: WrittenPitch
    register: Register
    standing: Standing
    best: BestEntry | None = None
    forecast: Forecast | None = None
    speaking: int = 0
    silent: int = 0

    @property
    def others(self) -> int:
        """How many speaking fingerings count for it beside the one that it shows."""
        is_shown = self.standing in (Standing.PROVEN, Standing.LOGGED)
        return self.speaking - 1 if is_shown else self.speaking

    @property
    def offset_cents(self) -> float | None:
        """How far from the step lies what it shows, measured or predicted."""
        if self.standing is Standing.PREDICTED and self.forecast is not None:
            return self.forecast.offset_cents
        return self.best.offset_cents if self.best and self.standing in _SHOWN else None

    @property
    def uncertainty_cents(self) -> float | None:
        """How sure that is, as one standard deviation."""
        if self.standing is Standing.PREDICTED and self.forecast is not None:
            return self.forecast.sigma_cents
        return self.best.uncertainty_cents if self.best and self.standing in _SHOWN else None


_SHOWN = (Standing.PROVEN, Standing.LOGGED)


@dataclass(frozen=True, slots=True)
class Gap:
    """Open steps in a row; ordinary notes between them neither count nor end it."""

    first: WrittenPitch
    last: WrittenPitch
    count: int


@dataclass(frozen=True, slots=True)
class WholeRange:
    """The range of an instrument, low to high.

    `outside` counts what is logged below or above it; `tolerance_cents` is what the player calls
    near enough.
    """

    instrument: Instrument
    division: EqualDivision
    reach_cents: float
    tolerance_cents: float
    steps: tuple[RangeStep, ...]
    outside: int = 0

    def count(self, standing: Standing) -> int:
        """How many steps stand so."""
        return sum(step.standing is standing for step in self.steps)

    @property
    def within_tolerance(self) -> int:
        """How many steps are proven within the tolerance."""
        return sum(step.standing is Standing.PROVEN and self.is_within(step) for step in self.steps)

    def is_within(self, step: RangeStep) -> bool:
        """Whether what a step shows lies within the tolerance."""
        return step.offset_cents is not None and abs(step.offset_cents) <= self.tolerance_cents

    @property
    def has_nothing(self) -> bool:
        """Whether nothing at all counts for any step, or lies outside."""
        known = any(step.speaking or step.silent or step.forecast for step in self.steps)
        return not known and not self.outside

    @property
    def largest_gap(self) -> Gap | None:
        """The longest row of open steps, the lowest of several as long."""
        gaps: list[list[RangeStep]] = [[]]
        for step in self.steps:
            if step.standing is Standing.OPEN:
                gaps[-1].append(step)
            elif step.standing is not Standing.ORDINARY:
                gaps.append([])
        longest = max(gaps, key=len)
        return Gap(longest[0].written, longest[-1].written, len(longest)) if longest else None

    def by_register(self) -> tuple[tuple[Register, tuple[RangeStep, ...]], ...]:
        """The steps, register by register."""
        groups = groupby(self.steps, key=lambda step: step.register)
        return tuple((register, tuple(steps)) for register, steps in groups)


def open_range(
    notebook: Notebook,
    instrument_id: int,
    query: SearchQuery,
    *,
    steps_per_octave: int = 24,
    tolerance_cents: float = 10.0,
) -> WholeRange:
    """Return what is known of every step of an instrument's range.

    Of `query` the filters count: its register chooses the steps, the rest the fingerings. Its
    tolerance counts as far as half a step, since beyond it the next step begins.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: there is no such grid, or the tolerance is off.
    """
    if steps_per_octave not in GRIDS:
        raise FieldRefused("grid", "Choose semitones, quarter tones or eighth tones.")
    check_tolerance(query)
    division = EqualDivision(steps_per_octave)
    reach_cents = min(query.tolerance_cents, float(division.step_cents / 2))
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        notes = _choose_steps(session, instrument, division)
        whole = _ladder(instrument, division, notes, reach_cents)
        outside = count_outside(session, whole, query)
        if query.register is not None:
            notes = [each for each in notes if _register(instrument, each) is query.register]
        ladder = _ladder(instrument, division, notes, reach_cents)
        steps = tuple(_look_up(session, instrument, notes, ladder, query)) if notes else ()
    return WholeRange(instrument, division, reach_cents, tolerance_cents, steps, outside)


def _choose_steps(
    session: Session, instrument: Instrument, division: EqualDivision
) -> list[WrittenPitch]:
    kind, transposition = instrument.kind, instrument.transposition
    low = kind.from_treble_notation(instrument.layout.lowest)
    limit = transposition.to_sounding(kind.ordinary_top).cents + HIGHEST_ABOVE_TOP_CENTS
    highest = find_highest(session, instrument.id, limit)
    top = kind.ordinary_top
    if highest is not None:
        reached = division.nearest(highest - transposition.cents)
        top = max(top, WrittenPitch.from_cents(reached))
    return list(division.between(low, top, Side.NEAREST))


def _ladder(
    instrument: Instrument,
    division: EqualDivision,
    notes: list[WrittenPitch],
    reach_cents: float,
) -> Ladder:
    low_cents = instrument.transposition.to_sounding(notes[0]).cents if notes else 0.0
    step_cents = float(division.step_cents)
    return Ladder(instrument.id, low_cents, step_cents, len(notes), reach_cents)


def _register(instrument: Instrument, written: WrittenPitch) -> Register:
    return register_of(instrument.kind.in_treble_notation(written))


def _look_up(
    session: Session,
    instrument: Instrument,
    notes: list[WrittenPitch],
    ladder: Ladder,
    query: SearchQuery,
) -> Iterator[RangeStep]:
    best = find_best(session, ladder, query)
    silent = count_silent(session, ladder, query)
    forecasts = _place_forecasts(notes, ladder, find_forecasts(session, instrument.id, query))
    ordinary = _ordinary_cents(instrument.layout, instrument.kind_id)
    for number, written in enumerate(notes):
        entry, count = best.get(number, (None, 0))
        forecast = forecasts.get(number)
        yield RangeStep(
            written,
            _register(instrument, written),
            _judge(entry, forecast, is_ordinary=written.cents in ordinary),
            entry,
            forecast,
            speaking=count - silent.get(number, 0),
            silent=silent.get(number, 0),
        )


def _judge(entry: BestEntry | None, forecast: Forecast | None, *, is_ordinary: bool) -> Standing:
    if entry is not None and entry.is_proof:
        return Standing.PROVEN
    if forecast is not None:
        return Standing.PREDICTED
    if entry is not None and not entry.does_not_speak:
        return Standing.LOGGED
    return Standing.ORDINARY if is_ordinary else Standing.OPEN


def _place_forecasts(
    notes: list[WrittenPitch], ladder: Ladder, forecasts: Iterator[Forecast]
) -> dict[int, Forecast]:
    """Return, by the number of the step, the forecast that comes nearest to it.

    A forecast belongs where the fingering is meant to sound, as everything that is not measured.
    """
    step_cents, low_cents = int(ladder.step_cents), notes[0].cents
    placed: dict[int, Forecast] = {}
    for forecast in forecasts:
        target = WrittenPitch.from_canonical(forecast.target_text).cents
        number = math.floor((target - low_cents) / step_cents + Fraction(1, 2))
        aside = float(target - low_cents - number * step_cents)
        if not 0 <= number < ladder.count or abs(aside) > ladder.reach_cents:
            continue
        here = replace(forecast, offset_cents=aside + forecast.offset_cents)
        known = placed.get(number)
        if known is None or _merit(here) < _merit(known):
            placed[number] = here
    return placed


def _merit(forecast: Forecast) -> tuple[float, float]:
    return abs(forecast.offset_cents), forecast.sigma_cents


@lru_cache(maxsize=64)
def _ordinary_cents(layout: Layout, kind_id: str) -> frozenset[Fraction]:
    """Return the written cents of the ordinary notes of a keywork."""
    kind = KINDS[kind_id]
    return frozenset(
        kind.from_treble_notation(each.written).cents for each in ordinary_fingerings(layout)
    )


COLUMNS = (
    "note", "written_cents", "register", "standing", "offset_cents", "uncertainty_cents", "takes",
    "resistance", "others", "do_not_speak", "target", "keys", "fingering", "instrument",
)  # fmt: skip


def tabulate_range(whole: WholeRange) -> Iterator[tuple[Cell, ...]]:
    """Return the rows of the range as a table, under `COLUMNS`."""
    for step in whole.steps:
        shown = step.best if step.standing in _SHOWN else None
        meant = shown or (step.forecast if step.standing is Standing.PREDICTED else None)
        yield (
            step.written.canonical,
            float(step.written.cents),
            step.register.value,
            step.standing.value,
            _rounded(step.offset_cents),
            _rounded(step.uncertainty_cents),
            shown.take_count if shown else None,
            shown.resistance if shown else None,
            step.others,
            step.silent,
            meant.target_text if meant else None,
            shown.keys_text if shown else None,
            shown.fingering_id if shown else None,
            whole.instrument.name,
        )


def _rounded(cents: float | None) -> float | None:
    return None if cents is None else round(cents, 2)
