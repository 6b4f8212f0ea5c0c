"""Reach of a player's lip as takes show it: played watching and not, and at several dynamics."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from statistics import fmean
from typing import NamedTuple

from sqlalchemy import ScalarSelect, func, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder.inputs import DynamicSpan, LipTry, Wishes
from analysis.keywork import parse_fingering
from analysis.pitch import SoundingPitch, Tuning, WrittenPitch, register_of
from analysis.recording import TakeStanding
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take

# From take to take, from memory of players' practice; and so many fingerings are looked at.
_SCATTER_CENTS, _MOST_SPANS = 4.0, 60
_STANDINGS = (TakeStanding.COUNTS.value, TakeStanding.WATCHED.value)


class _Heard(NamedTuple):
    """One take: its fingering, how it was played, what it sounded and what it was meant for."""

    fingering_id: int
    standing: str
    f0_hz: float
    tuning_a_hz: float
    target_text: str
    target_cents: float

    @property
    def offset_cents(self) -> float:
        """How far it sounded from its target."""
        sounding = SoundingPitch.from_hz(self.f0_hz, Tuning(self.tuning_a_hz))
        return SoundingPitch(self.target_cents).interval_to(sounding)


class _Dynamic(NamedTuple):
    """One take at a dynamic: what was fingered, and what it sounded."""

    fingering_id: int
    dynamic: str
    f0_hz: float
    tuning_a_hz: float
    keys_text: str
    target_text: str

    @property
    def sounding_cents(self) -> float:
        """Where it sounded."""
        return SoundingPitch.from_hz(self.f0_hz, Tuning(self.tuning_a_hz)).cents


def learn_from_takes(session: Session, instrument: Instrument) -> Wishes:
    """Return what the finder is told of the lip: the player's word, and what takes show."""
    return Wishes(
        lip=find_preferences(session).lip,
        lip_tries=collect_lip_tries(session, instrument),
        spans=collect_dynamic_spans(session, instrument),
    )


def collect_lip_tries(session: Session, instrument: Instrument) -> tuple[LipTry, ...]:
    """Return one for each fingering that was played watching and without; one query."""
    by_fingering: dict[int, list[_Heard]] = {}
    for heard in _read(session, instrument):
        by_fingering.setdefault(heard.fingering_id, []).append(heard)
    found = (_compare(instrument, takes) for takes in by_fingering.values())
    return tuple(one for one in found if one is not None)


def collect_dynamic_spans(session: Session, instrument: Instrument) -> tuple[DynamicSpan, ...]:
    """Return one for each of the fingerings last played at several dynamics; one query."""
    by_fingering: dict[int, list[_Dynamic]] = {}
    for heard in _read_dynamics(session, instrument):
        by_fingering.setdefault(heard.fingering_id, []).append(heard)
    found = (_find_span(instrument, takes) for takes in by_fingering.values())
    return tuple(one for one in found if one is not None)


def _find_span(instrument: Instrument, takes: Sequence[_Dynamic]) -> DynamicSpan | None:
    by_dynamic: dict[str, list[float]] = {}
    for take in takes:
        by_dynamic.setdefault(take.dynamic, []).append(take.sounding_cents)
    pooled = sorted((fmean(some), len(some)) for some in by_dynamic.values())
    (low, low_count), (high, high_count) = pooled[0], pooled[-1]
    try:
        keys = parse_fingering(takes[0].keys_text, instrument.layout)
        written = WrittenPitch.from_canonical(takes[0].target_text)
    except AnalysisError:
        return None
    sigma_cents = _SCATTER_CENTS * sqrt(1.0 / low_count + 1.0 / high_count)
    return DynamicSpan(keys, written, high - low, sigma_cents)


def _compare(instrument: Instrument, takes: Sequence[_Heard]) -> LipTry | None:
    without, watching = (
        [take.offset_cents for take in takes if take.standing == standing]
        for standing in _STANDINGS
    )
    if not without or not watching:
        return None
    try:
        written = WrittenPitch.from_canonical(takes[0].target_text)
    except AnalysisError:
        return None
    register = register_of(instrument.kind.in_treble_notation(written))
    return LipTry(register, fmean(without), fmean(watching))


def _read_dynamics(session: Session, instrument: Instrument) -> list[_Dynamic]:
    """Read the counting takes of the fingerings last played at more than one dynamic."""
    usable = (
        Take.instrument_id == instrument.id,
        Take.fingering_id.is_not(None),
        Take.deleted_at.is_(None),
        Take.standing == TakeStanding.COUNTS.value,
        Take.dynamic.is_not(None),
    )
    several = (
        select(Take.fingering_id)
        .where(*usable)
        .group_by(Take.fingering_id)
        .having(func.count(Take.dynamic.distinct()) > 1)
        .order_by(func.max(Take.id).desc())
        .limit(_MOST_SPANS)
    )
    query = (
        select(
            Take.fingering_id,
            Take.dynamic,
            Measurement.f0_hz,
            Take.tuning_a_hz,
            Fingering.keys_text,
            Fingering.target_text,
        )
        .join(Take.fingering)
        .join(Measurement, Measurement.id == _newest())
        .where(
            *usable,
            Take.fingering_id.in_(several),
            Fingering.deleted_at.is_(None),
            Measurement.f0_hz.is_not(None),
        )
        .order_by(Take.id)
    )
    return list(map(_Dynamic._make, session.execute(query)))


def _newest() -> ScalarSelect[int]:
    """The newest measurement of a take."""
    return (
        select(func.max(Measurement.id))
        .where(Measurement.take_id == Take.id)
        .correlate(Take)
        .scalar_subquery()
    )


def _read(session: Session, instrument: Instrument) -> list[_Heard]:
    """Read the takes of fingerings that were played watching, with their newest measurement."""
    usable = (
        Take.instrument_id == instrument.id,
        Take.fingering_id.is_not(None),
        Take.deleted_at.is_(None),
    )
    watched = select(Take.fingering_id).where(*usable, Take.is_watched)
    query = (
        select(
            Take.fingering_id,
            Take.standing,
            Measurement.f0_hz,
            Take.tuning_a_hz,
            Fingering.target_text,
            Fingering.target_cents,
        )
        .join(Take.fingering)
        .join(Measurement, Measurement.id == _newest())
        .where(
            *usable,
            Take.standing.in_(_STANDINGS),
            Take.fingering_id.in_(watched),
            Fingering.deleted_at.is_(None),
            Measurement.f0_hz.is_not(None),
        )
        .order_by(Take.id)
    )
    return list(map(_Heard._make, session.execute(query)))
