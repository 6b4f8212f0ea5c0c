"""Reach of a player's lip as takes show it: played watching, beside those played without."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean
from typing import NamedTuple

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder.inputs import LipTry
from analysis.pitch import Register, SoundingPitch, Tuning, WrittenPitch, register_of
from analysis.recording import TakeStanding
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take

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


def collect_lip_tries(session: Session, instrument: Instrument) -> tuple[LipTry, ...]:
    """Return one for each fingering that was played watching and without; one query."""
    by_fingering: dict[int, list[_Heard]] = {}
    for heard in _read(session, instrument):
        by_fingering.setdefault(heard.fingering_id, []).append(heard)
    found = (_compare(instrument, takes) for takes in by_fingering.values())
    return tuple(one for one in found if one is not None)


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
    return LipTry(register is Register.ALTISSIMO, fmean(without), fmean(watching))


def _read(session: Session, instrument: Instrument) -> list[_Heard]:
    """Read the takes of fingerings that were played watching, with their newest measurement."""
    usable = (
        Take.instrument_id == instrument.id,
        Take.fingering_id.is_not(None),
        Take.deleted_at.is_(None),
    )
    watched = select(Take.fingering_id).where(*usable, Take.is_watched)
    newest = (
        select(func.max(Measurement.id))
        .where(Measurement.take_id == Take.id)
        .correlate(Take)
        .scalar_subquery()
    )
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
        .join(Measurement, Measurement.id == newest)
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
