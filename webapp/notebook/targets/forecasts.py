"""Predictions of fingerings that are still to be measured, by the steps of a grid."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from webapp.notebook.store.rows import Fingering, Suggestion, TryState
from webapp.notebook.targets.search import SearchQuery

_SHADED_MARK = "("  # what a canonical key text writes for a shaded hole, and for nothing else


@dataclass(frozen=True, slots=True)
class Forecast:
    """What was predicted for a fingering that is still to be measured."""

    target_text: str
    offset_cents: float
    sigma_cents: float


def find_forecasts(session: Session, instrument_id: int, query: SearchQuery) -> list[Forecast]:
    """Return what is predicted and not measured yet.

    That is what waits on the try list, and what was logged from it and has no usable take. How such
    a fingering resists is not known, so a filter on resistance leaves none; nor is it anybody's
    choice.
    """
    if query.is_measured_only or query.is_choice_only or query.highest_resistance is not None:
        return []
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
    return [Forecast(*facts) for facts in rows]


def place_forecasts(
    notes: Sequence[WrittenPitch], forecasts: Iterable[Forecast], width_cents: float
) -> dict[int, Forecast]:
    """Return, by the number of the step, the forecast that comes nearest to it.

    A forecast belongs where the fingering is meant to sound, as everything that is not measured.
    """
    cents = [float(note.cents) for note in notes]
    placed: dict[int, Forecast] = {}
    for forecast in forecasts if cents else ():
        target = float(WrittenPitch.from_canonical(forecast.target_text).cents)
        # halfway between two steps: the upper one
        number = min(range(len(cents)), key=lambda place: (abs(cents[place] - target), -place))
        aside = target - cents[number]
        if abs(aside) > width_cents:
            continue
        here = replace(forecast, offset_cents=aside + forecast.offset_cents)
        known = placed.get(number)
        if known is None or _merit(here) < _merit(known):
            placed[number] = here
    return placed


def _merit(forecast: Forecast) -> tuple[float, float]:
    return abs(forecast.offset_cents), forecast.sigma_cents
