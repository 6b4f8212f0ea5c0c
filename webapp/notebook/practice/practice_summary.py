"""Summary of a practice: the fingerings that were measured, that moved, and that stay open.

A fingering's takes of the practice are pooled, and so are those made before it began; the
difference carries both uncertainties (GUM, section 5.1: squares add). It has moved where the
difference is more than twice its uncertainty; otherwise it lies as before, as far as can be told.
Offsets are measured from the tuning A of each take, so a cold day moves everything together.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, contains_eager, defer, selectinload

from analysis.pitch import SoundingPitch
from analysis.recording import PooledOffset, TakeOffset, TakeStanding, pool_takes
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_practice
from webapp.notebook.store.rows import (
    Fingering,
    Measurement,
    PracticeTarget,
    Suggestion,
    Take,
    TargetState,
)
from webapp.notebook.takes.offsets import take_offset

MOVED_SIGMAS = 2.0


@dataclass(frozen=True, slots=True)
class Movement:
    """How far a fingering lies from where its earlier takes had it."""

    difference_cents: float
    uncertainty_cents: float

    @property
    def has_moved(self) -> bool:
        """Whether the difference is more than chance would make it."""
        return abs(self.difference_cents) > MOVED_SIGMAS * self.uncertainty_cents


@dataclass(frozen=True, slots=True)
class Proof:
    """What a practice says of one fingering; `suggestion` is what predicted it, if anything did."""

    fingering: Fingering
    today: PooledOffset
    before: PooledOffset | None
    suggestion: Suggestion | None = None

    @property
    def is_first(self) -> bool:
        """Whether nothing was measured of it before."""
        return self.before is None

    @property
    def movement(self) -> Movement | None:
        """How far it moved against the takes of before, if there are any."""
        if self.before is None:
            return None
        return Movement(
            self.today.offset_cents - self.before.offset_cents,
            math.hypot(self.today.uncertainty_cents, self.before.uncertainty_cents),
        )


@dataclass(frozen=True, slots=True)
class PracticeSummaryPage:
    """What a practice brought, low to high, and its list."""

    proofs: tuple[Proof, ...]
    unmeasured: tuple[Fingering, ...]
    targets: tuple[PracticeTarget, ...]

    @property
    def first(self) -> tuple[Proof, ...]:
        """What was measured for the first time."""
        return tuple(each for each in self.proofs if each.is_first)

    @property
    def again(self) -> tuple[Proof, ...]:
        """What had been measured before."""
        return tuple(each for each in self.proofs if not each.is_first)

    @property
    def moved_count(self) -> int:
        """How many fingerings lie elsewhere than before."""
        return sum(each.movement is not None and each.movement.has_moved for each in self.proofs)

    def with_state(self, *states: str) -> tuple[PracticeTarget, ...]:
        """The targets of the list that are in one of these states."""
        return tuple(each for each in self.targets if each.state in states)

    @property
    def left(self) -> tuple[PracticeTarget, ...]:
        """What stays open on the list, skipped targets included."""
        return self.with_state(TargetState.OPEN, TargetState.SKIPPED)


def summarise_practice(notebook: Notebook, practice_id: int) -> PracticeSummaryPage:
    """Say what a practice brought.

    Raises:
        NotInNotebook: there is no such practice.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
        fingerings = _load_practised(session, practice_id)
        ids = [each.id for each in fingerings]
        takes = _load_takes(session, ids)
        suggestions = _load_suggestions(session, ids)
        targets = load_targets(session, practice_id)
    proofs, unmeasured = [], []
    for each in fingerings:
        today, before = _split(each, takes.get(each.id, []), practice_id, practice.started_at)
        if today:
            pooled_before = pool_takes(before) if before else None
            suggestion = suggestions.get(each.id)
            proofs.append(Proof(each, pool_takes(today), pooled_before, suggestion))
        else:
            unmeasured.append(each)
    return PracticeSummaryPage(tuple(proofs), tuple(unmeasured), targets)


def _load_practised(session: Session, practice_id: int) -> Sequence[Fingering]:
    played = select(Take.fingering_id).where(
        Take.practice_id == practice_id, Take.deleted_at.is_(None)
    )
    query = (
        select(Fingering)
        .join(Fingering.instrument)
        .where(Fingering.id.in_(played), Fingering.deleted_at.is_(None))
        .options(contains_eager(Fingering.instrument))
        .order_by(Fingering.written_cents, Fingering.id)
    )
    return session.scalars(query).all()


def _load_takes(session: Session, fingering_ids: Collection[int]) -> dict[int, list[Take]]:
    """Return all takes of some fingerings, without the traces that nobody looks at here."""
    query = (
        select(Take)
        .where(
            Take.fingering_id.in_(fingering_ids),
            Take.deleted_at.is_(None),
            Take.standing == TakeStanding.COUNTS.value,
        )
        .options(selectinload(Take.measurements).options(defer(Measurement.details)))
        .order_by(Take.recorded_at, Take.id)
    )
    found: dict[int, list[Take]] = {}
    for take in session.scalars(query):
        if take.fingering_id is not None:
            found.setdefault(take.fingering_id, []).append(take)
    return found


def _load_suggestions(session: Session, fingering_ids: Collection[int]) -> dict[int, Suggestion]:
    query = select(Suggestion).where(Suggestion.fingering_id.in_(fingering_ids))
    rows = session.scalars(query.order_by(Suggestion.id))
    return {row.fingering_id: row for row in rows if row.fingering_id is not None}


def _split(
    fingering: Fingering, takes: Sequence[Take], practice_id: int, started_at: datetime
) -> tuple[list[TakeOffset], list[TakeOffset]]:
    """Return the offsets of a practice, and those of the takes made before it began."""
    target = SoundingPitch(fingering.target_cents)
    today: list[TakeOffset] = []
    before: list[TakeOffset] = []
    for take in takes:
        offset = take_offset(take, target)
        if offset is None:
            continue
        if take.practice_id == practice_id:
            today.append(offset)
        elif take.recorded_at < started_at:
            before.append(offset)
    return today, before
