"""The whole written range of an instrument, step by step of a grid: what is in tune, what is open.

The range goes from the lowest note of the instrument's keywork to the ordinary top of its kind, and
further up where something is logged there. What a step has is the judge's answer to its note
(`answers`), the same as in a search. A step that only has something that sounds elsewhere is open.

Nothing is predicted here: what was predicted when it was taken up is only read. Ordinary notes that
the player has not logged are no gap: every player knows them.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analysis.keywork import Layout, ordinary_fingerings
from analysis.pitch import KINDS, EqualDivision, Register, Side, WrittenPitch, register_of
from webapp.drawing.figures import round_uncertainty
from webapp.notebook.csv_tables import Cell
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.answers import read_judge
from webapp.notebook.targets.facts import Look, load_texts
from webapp.notebook.targets.forecasts import Forecast, find_forecasts, place_forecasts
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.search import SearchQuery, check_width, narrow_down
from webapp.notebook.targets.standing import Judged, Standing

GRIDS = (12, 24, 48)
# What is logged higher above the ordinary top is a slip of the pen or of the ear.
HIGHEST_ABOVE_TOP_CENTS = 1200


class StepState(StrEnum):
    """What a step of the range has."""

    IN_TUNE = "in tune"
    NEAR = "near"
    PREDICTED = "predicted"
    NOT_TRIED = "not tried"
    ELSEWHERE = "sounds elsewhere"
    ORDINARY = "ordinary note"
    OPEN = "open"


OPEN_STATES = (StepState.ELSEWHERE, StepState.OPEN)
MEASURED_STATES = (StepState.IN_TUNE, StepState.NEAR)
_OWN_STATES = (*MEASURED_STATES, StepState.NOT_TRIED, StepState.ELSEWHERE)


@dataclass(frozen=True, slots=True)
class RangeStep:
    """One step with the judge's answer to its note, and what is predicted for it."""

    written: WrittenPitch
    register: Register
    state: StepState
    answer: NoteAnswer
    forecast: Forecast | None = None

    @property
    def shown(self) -> Judged | None:
        """The logged fingering that the step shows, if any."""
        if self.state not in _OWN_STATES:
            return None
        if self.state is StepState.ELSEWHERE:
            return self.answer.elsewhere
        return self.answer.best

    @property
    def is_solved(self) -> bool:
        """Whether the step is solved: something is in tune, or the player's own is near."""
        return self.answer.is_solved

    @property
    def others(self) -> int:
        """How many fingerings may be played for it beside the one that it shows."""
        is_shown = self.shown is not None and self.state is not StepState.ELSEWHERE
        return self.answer.serving_count - is_shown

    @property
    def silent(self) -> int:
        """How many were logged for it and do not speak."""
        return self.answer.silent_count

    @property
    def rejected(self) -> int:
        """How many the player does not want for it."""
        return self.answer.rejected_count

    @property
    def is_open(self) -> bool:
        """Whether nothing may be played for it as far as is known."""
        return self.state in OPEN_STATES

    @property
    def offset_cents(self) -> float | None:
        """How far from the step what it shows is measured, predicted or meant to sound."""
        if self.state is StepState.PREDICTED and self.forecast is not None:
            return self.forecast.offset_cents
        if self.shown is None:
            return None
        return self.shown.facts.sounding_cents - self.answer.note.sounding.cents

    @property
    def uncertainty_cents(self) -> float | None:
        """How sure that is, as one standard deviation."""
        if self.state is StepState.PREDICTED and self.forecast is not None:
            return self.forecast.sigma_cents
        return self.shown.facts.uncertainty_cents if self.shown else None


@dataclass(frozen=True, slots=True)
class Gap:
    """Open steps in a row; ordinary notes between them neither count nor end it."""

    first: WrittenPitch
    last: WrittenPitch
    count: int


@dataclass(frozen=True, slots=True)
class WholeRange:
    """The range of an instrument, low to high.

    `outside` counts what is logged below or above it; `width_cents` is how far from a step what
    sounds elsewhere is still shown there; `texts` keys and target of what the steps show, by their
    numbers, where they were read.
    """

    instrument: Instrument
    division: EqualDivision
    width_cents: float
    writing: Writing
    steps: tuple[RangeStep, ...]
    outside: int = 0
    texts: Mapping[int, tuple[str, str]] = field(default_factory=dict)

    @property
    def tolerance_cents(self) -> float:
        """What the player calls in tune, where a note has no tolerance of its own."""
        return self.writing.tolerance_cents

    def count(self, *states: StepState) -> int:
        """How many steps are in one of these states."""
        return sum(step.state in states for step in self.steps)

    @property
    def solved_count(self) -> int:
        """How many steps are solved."""
        return sum(step.is_solved for step in self.steps)

    @property
    def has_nothing(self) -> bool:
        """Whether nothing at all counts for any step, or lies outside."""
        known = any(step.forecast or not step.answer.is_empty for step in self.steps)
        return not known and not self.outside

    @property
    def largest_gap(self) -> Gap | None:
        """The longest row of open steps, the lowest of several as long."""
        gaps: list[list[RangeStep]] = [[]]
        for step in self.steps:
            if step.is_open:
                gaps[-1].append(step)
            elif step.state is not StepState.ORDINARY:
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
    has_texts: bool = False,
) -> WholeRange:
    """Return what is known of every step of an instrument's range.

    Of `query` the filters count: its register chooses the steps, the rest the fingerings. Its
    width counts as far as half a step, since beyond it the next step begins. With `has_texts`
    keys and target of what the steps show are read as well, for the table.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: there is no such grid, or the width is off.
    """
    if steps_per_octave not in GRIDS:
        raise FieldRefused("grid", "Choose semitones, quarter tones or eighth tones.")
    check_width(query)
    division = EqualDivision(steps_per_octave)
    width_cents = min(query.within_cents, float(division.step_cents / 2))
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        notes = _choose_steps(session, instrument, division)
        judge = read_judge(session, instrument, narrow_down(query), Look(is_brief=True))
        forecasts = find_forecasts(session, instrument, query)
        half_cents = float(division.step_cents / 2)
        outside = judge.count_outside(notes[0], notes[-1], half_cents) if notes else 0
        if query.register is not None:
            notes = [each for each in notes if _register(instrument, each) is query.register]
        placed = place_forecasts(notes, forecasts, width_cents)
        answers = [
            judge.answer(each, width_cents=width_cents, is_choice_only=query.is_choice_only)
            for each in notes
        ]
        writing = find_preferences(session)
        steps = tuple(_look_up(instrument, answers, placed))
        shown = [step.shown.facts.fingering_id for step in steps if step.shown]
        texts = load_texts(session, shown) if has_texts else {}
    return WholeRange(instrument, division, width_cents, writing, steps, outside, texts)


def choose_grid(instrument: Instrument, division: EqualDivision) -> list[WrittenPitch]:
    """Return the steps from the lowest note of the keywork to the instrument's top, rising."""
    return list(division.between(instrument.lowest, instrument.top, Side.NEAREST))


def _choose_steps(
    session: Session, instrument: Instrument, division: EqualDivision
) -> list[WrittenPitch]:
    transposition, top = instrument.transposition, instrument.top
    limit = transposition.to_sounding(top).cents + HIGHEST_ABOVE_TOP_CENTS
    highest = session.scalars(
        select(func.max(Fingering.sounding_cents)).where(
            Fingering.instrument_id == instrument.id,
            Fingering.deleted_at.is_(None),
            Fingering.sounding_cents < limit,
        )
    ).one()
    if highest is not None:
        reached = division.nearest(highest - transposition.cents)
        top = max(top, WrittenPitch.from_cents(reached))
    return list(division.between(instrument.lowest, top, Side.NEAREST))


def _register(instrument: Instrument, written: WrittenPitch) -> Register:
    return register_of(instrument.kind.in_treble_notation(written))


def _look_up(
    instrument: Instrument, answers: Iterable[NoteAnswer], forecasts: dict[int, Forecast]
) -> Iterator[RangeStep]:
    ordinary = ordinary_cents(instrument.layout, instrument.kind_id)
    for number, answer in enumerate(answers):
        written, forecast = answer.note.written, forecasts.get(number)
        state = _state(answer, forecast, is_ordinary=written.cents in ordinary)
        yield RangeStep(written, _register(instrument, written), state, answer, forecast)


_STATES = {Standing.IN_TUNE: StepState.IN_TUNE, Standing.NEAR: StepState.NEAR}


def _state(answer: NoteAnswer, forecast: Forecast | None, *, is_ordinary: bool) -> StepState:
    best = answer.best
    if best is not None and best.standing in _STATES:
        return _STATES[best.standing]
    if forecast is not None:
        return StepState.PREDICTED
    if best is not None:
        return StepState.NOT_TRIED
    if is_ordinary:
        return StepState.ORDINARY
    return StepState.OPEN if answer.elsewhere is None else StepState.ELSEWHERE


@lru_cache(maxsize=64)
def ordinary_cents(layout: Layout, kind_id: str) -> frozenset[Fraction]:
    """Return the written cents of the ordinary notes of a keywork."""
    kind = KINDS[kind_id]
    return frozenset(
        kind.from_treble_notation(each.written).cents for each in ordinary_fingerings(layout)
    )


COLUMNS = (
    "note", "written_cents", "register", "standing", "offset_cents", "uncertainty_cents", "takes",
    "resistance", "others", "do_not_speak", "target", "keys", "fingering", "choice", "solved",
    "instrument",
)  # fmt: skip


def tabulate_range(whole: WholeRange) -> Iterator[tuple[Cell, ...]]:
    """Return the rows of the range as a table, under `COLUMNS`."""
    for step in whole.steps:
        shown = step.shown.facts if step.shown else None
        keys, target = whole.texts[shown.fingering_id] if shown else (None, None)
        if step.state is StepState.PREDICTED and step.forecast is not None:
            target = step.forecast.target_text
        yield (
            step.written.canonical,
            float(step.written.cents),
            step.register.value,
            step.state.value,
            None if step.offset_cents is None else round(step.offset_cents, 1),
            None if step.uncertainty_cents is None else round_uncertainty(step.uncertainty_cents),
            shown.take_count if shown else None,
            shown.resistance if shown else None,
            step.others,
            step.silent,
            target,
            keys,
            shown.fingering_id if shown else None,
            "yes" if step.shown and step.shown.is_choice else None,
            "yes" if step.is_solved else None,
            whole.instrument.name,
        )
