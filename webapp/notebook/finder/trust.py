"""Predictions against measurements: whether the finder can be trusted on this instrument."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from webapp.drawing.trust import TrustPoint
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Suggestion


@dataclass(frozen=True, slots=True)
class Compared:
    """One suggestion that was tried and measured."""

    suggestion: Suggestion
    fingering: Fingering
    point: TrustPoint


@dataclass(frozen=True, slots=True)
class TrustPage:
    """All of them on one instrument, in the order in which they were logged."""

    instrument: Instrument
    compared: tuple[Compared, ...]

    @property
    def points(self) -> tuple[TrustPoint, ...]:
        """What is drawn."""
        return tuple(each.point for each in self.compared)


def open_trust(notebook: Notebook, instrument_id: int) -> TrustPage:
    """Compare what was predicted with what was measured.

    Raises:
        NotInNotebook: no such instrument.
    """
    query = (
        select(Suggestion)
        .join(Suggestion.fingering)
        .where(
            Suggestion.instrument_id == instrument_id,
            Fingering.deleted_at.is_(None),
            Fingering.take_count > 0,
        )
        .options(joinedload(Suggestion.fingering))
        .order_by(Fingering.created_at, Fingering.id)
    )
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        rows = [(row, row.fingering) for row in session.scalars(query)]
    compared = tuple(
        Compared(row, fingering, _compare(instrument, row, fingering))
        for row, fingering in rows
        if fingering is not None
    )
    return TrustPage(instrument, compared)


def find_prediction(session: Session, fingering_id: int) -> Suggestion | None:
    """Return the suggestion that a fingering was logged from, with its prediction, if any."""
    query = select(Suggestion).where(Suggestion.fingering_id == fingering_id)
    return session.scalars(query.order_by(Suggestion.id.desc()).limit(1)).first()


def _compare(instrument: Instrument, row: Suggestion, fingering: Fingering) -> TrustPoint:
    # Against the suggestion's own target: that of the fingering may have been changed since.
    target_cents = instrument.transposition.to_sounding(row.written).cents
    return TrustPoint(
        day=day_of(fingering.created_at),
        predicted_cents=row.predicted_offset_cents,
        sigma_cents=row.predicted_sigma_cents,
        measured_cents=fingering.sounding_cents - target_cents,
    )
