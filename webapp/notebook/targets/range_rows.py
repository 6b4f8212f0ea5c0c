"""Queries about every step of a range at once.

A step is a place on a grid of equal steps; a row belongs to the step nearest to where it is known
to sound, or, unproven, to where it is meant to (halfway between two steps: to the upper), so it
belongs to one step and no more. How good a row is for its step is told by the order of the search,
after one question: those that are proven and speak come before all others.

Each step looks only at its own stretch of the index on sounding cents; the number of queries does
not depend on the number of steps or rows.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Integer,
    ScalarSelect,
    Select,
    SQLColumnExpression,
    and_,
    case,
    cast,
    func,
    literal,
    or_,
    select,
)
from sqlalchemy.orm import Session, aliased
from sqlalchemy.sql.selectable import CTE

from webapp.notebook.store.rows import Fingering, Suggestion, TryState
from webapp.notebook.targets.search import SearchQuery, narrow_down, order_of_merit

_SHADED_MARK = "("  # what a canonical key text writes for a shaded hole, and for nothing else


@dataclass(frozen=True, slots=True)
class Ladder:
    """Equal steps upwards from `low_cents`, in sounding cents, on one instrument.

    A row counts for a step at most `reach_cents` away from it.
    """

    instrument_id: int
    low_cents: float
    step_cents: float
    count: int
    reach_cents: float

    @property
    def start_cents(self) -> float:
        """Where the first step's own stretch begins."""
        return self.low_cents - self.step_cents / 2

    @property
    def end_cents(self) -> float:
        """Where the last step's own stretch ends; the end itself is outside."""
        return self.start_cents + self.count * self.step_cents


@dataclass(frozen=True, slots=True)
class BestEntry:
    """The best logged fingering of a step; `offset_cents` is counted from the step."""

    fingering_id: int
    target_text: str
    keys_text: str
    offset_cents: float
    uncertainty_cents: float | None
    take_count: int
    resistance: int | None
    does_not_speak: bool

    @property
    def is_proof(self) -> bool:
        """Whether a recording proves that it sounds here."""
        return self.take_count > 0 and not self.does_not_speak


@dataclass(frozen=True, slots=True)
class Forecast:
    """What was predicted for a fingering that is still to be measured."""

    target_text: str
    offset_cents: float
    sigma_cents: float


def find_highest(session: Session, instrument_id: int, limit_cents: float) -> float | None:
    """Return the highest sounding cents that are logged below a limit."""
    query = select(func.max(Fingering.sounding_cents)).where(
        *_alive_on(instrument_id), Fingering.sounding_cents < limit_cents
    )
    return session.scalars(query).one()


def find_best(
    session: Session, ladder: Ladder, query: SearchQuery
) -> dict[int, tuple[BestEntry, int]]:
    """Return, by the number of the step, its best fingering and how many count for it."""
    steps = _number_steps(ladder.count)
    best = aliased(Fingering)
    within = _within_step(ladder, steps, query)
    chosen = select(Fingering.id).where(*within).order_by(*_order(ladder)).limit(1)
    counted = select(func.count()).select_from(Fingering).where(*within)
    centre = ladder.low_cents + steps.c.number * ladder.step_cents
    rows = session.execute(
        select(
            steps.c.number,
            _for_each(counted, steps),
            best.id,
            best.target_text,
            best.keys_text,
            best.sounding_cents - centre,
            best.offset_uncertainty_cents,
            best.take_count,
            best.resistance,
            best.does_not_speak,
        ).join_from(steps, best, best.id == _for_each(chosen, steps))
    )
    return {number: (BestEntry(*facts), count) for number, count, *facts in rows}


def count_silent(session: Session, ladder: Ladder, query: SearchQuery) -> dict[int, int]:
    """Return, by the number of the step, how many of its fingerings do not speak."""
    number = _nearest_step(ladder).label("number")
    rows = session.execute(
        select(number, func.count())
        .where(
            *_alive_on(ladder.instrument_id),
            *narrow_down(query),
            # Found by the index that has this column: few do not speak. What lies below the first
            # step is too far from it, what lies above the last gets a number that no step has.
            Fingering.does_not_speak.is_(True),
            _distance(ladder) <= ladder.reach_cents,
        )
        .group_by(number)
    )
    return {int(step): count for step, count in rows}


def count_outside(session: Session, ladder: Ladder, query: SearchQuery) -> int:
    """Return how many fingerings sound below the first or above the last step."""
    beyond = or_(
        Fingering.sounding_cents < ladder.start_cents,
        Fingering.sounding_cents >= ladder.end_cents,
    )
    counted = select(func.count()).select_from(Fingering)
    return session.scalars(
        counted.where(*_alive_on(ladder.instrument_id), *narrow_down(query), beyond)
    ).one()


def find_forecasts(session: Session, instrument_id: int, query: SearchQuery) -> Iterator[Forecast]:
    """Return what is predicted and not measured yet.

    That is what waits on the try list, and what was logged from it and has no usable take. How such
    a fingering resists is not known, so a filter on resistance leaves none.
    """
    if query.is_proven_only or query.highest_resistance is not None:
        return
    unmeasured = and_(
        Suggestion.state != TryState.DISMISSED.value,
        Fingering.take_count == 0,
        Fingering.does_not_speak.is_(False),
        Fingering.deleted_at.is_(None),
    )
    waiting = and_(Suggestion.state == TryState.WAITING.value, Suggestion.fingering_id.is_(None))
    wanted: list[ColumnElement[bool]] = [or_(waiting, unmeasured)]
    if query.strategy is not None:
        wanted.append(Suggestion.strategy == query.strategy.value)
    if query.is_without_half_holes:
        wanted.append(Suggestion.keys_text.not_like(f"%{_SHADED_MARK}%"))
    rows = session.execute(
        select(
            Suggestion.target_text,
            Suggestion.predicted_offset_cents,
            Suggestion.predicted_sigma_cents,
        )
        .outerjoin(Fingering, Fingering.id == Suggestion.fingering_id)
        .where(Suggestion.instrument_id == instrument_id, *wanted)
        .order_by(Suggestion.id)
    )
    yield from (Forecast(*facts) for facts in rows)


def _number_steps(count: int) -> CTE:
    first = select(literal(0).label("number")).cte("step", recursive=True)
    return first.union_all(select(first.c.number + 1).where(first.c.number < count - 1))


def _alive_on(instrument_id: int) -> tuple[ColumnElement[bool], ...]:
    return Fingering.instrument_id == instrument_id, Fingering.deleted_at.is_(None)


def _within_step(ladder: Ladder, steps: CTE, query: SearchQuery) -> list[ColumnElement[bool]]:
    half = ladder.step_cents / 2
    centre = ladder.low_cents + steps.c.number * ladder.step_cents
    within = [
        *_alive_on(ladder.instrument_id),
        *narrow_down(query),
        Fingering.sounding_cents >= centre - half,
        Fingering.sounding_cents < centre + half,
    ]
    if ladder.reach_cents < half:
        within.append(_distance(ladder) <= ladder.reach_cents)
    return within


def _nearest_step(ladder: Ladder) -> ColumnElement[int]:
    # From `start_cents` upwards cutting off is rounding down.
    return cast((Fingering.sounding_cents - ladder.start_cents) / ladder.step_cents, Integer)


def _distance(ladder: Ladder) -> ColumnElement[float]:
    # From the row alone: SQLite sorts a subquery by its own columns only.
    nearest = ladder.low_cents + _nearest_step(ladder) * ladder.step_cents
    return func.abs(Fingering.sounding_cents - nearest)


def _order(ladder: Ladder) -> tuple[SQLColumnExpression[Any], ...]:
    is_proof = and_(Fingering.take_count > 0, Fingering.does_not_speak.is_(False))
    return case((is_proof, 0), else_=1), *order_of_merit(_distance(ladder))


def _for_each(query: Select[int], steps: CTE) -> ScalarSelect[int]:
    return query.correlate(steps).scalar_subquery()
