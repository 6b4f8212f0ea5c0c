"""Predictions of fingerings that are still to be measured, by the steps of a grid."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import Layout, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.notebook.store.rows import Fingering, Instrument, Suggestion, TryState
from webapp.notebook.targets.search import SearchQuery


@dataclass(frozen=True, slots=True)
class Forecast:
    """What was predicted for a fingering that is still to be measured."""

    target_text: str
    offset_cents: float
    sigma_cents: float


def find_forecasts(session: Session, instrument: Instrument, query: SearchQuery) -> list[Forecast]:
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
    rows = session.execute(
        select(
            Suggestion.target_text,
            Suggestion.predicted_offset_cents,
            Suggestion.predicted_sigma_cents,
            Suggestion.keys_text,
        )
        .outerjoin(Fingering, Fingering.id == Suggestion.fingering_id)
        .where(Suggestion.instrument_id == instrument.id, *wanted)
        .order_by(Suggestion.id)
    )
    layout = instrument.layout
    return [
        Forecast(WrittenPitch.from_canonical(target_text).canonical, offset_cents, sigma_cents)
        for target_text, offset_cents, sigma_cents, keys_text in rows
        if not (query.is_without_half_holes and _needs_half_hole(keys_text, layout))
    ]


def _needs_half_hole(keys_text: str, layout: Layout) -> bool:
    try:
        return parse_fingering(keys_text, layout).has_half_hole
    except AnalysisError:
        return False  # keys that cannot be read any more are told where they stand


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
