"""Opens what every page has at hand: the instruments, the one in use, its open practice."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_open_practice
from webapp.notebook.store.rows import Fingering, Instrument, PracticeTarget, TargetState


@dataclass(frozen=True, slots=True)
class NamedInstrument:
    """An instrument by number, name and tuning A."""

    id: int
    name: str
    tuning_a_hz: float


@dataclass(frozen=True, slots=True)
class OpenPractice:
    """A practice that goes on: how many of its notes are settled, and the tuning A of the day."""

    id: int
    settled_count: int
    target_count: int
    tuning_a_hz: float


@dataclass(frozen=True, slots=True)
class AtHand:
    """The instruments in the order in which they were added, and what is in use."""

    instruments: tuple[NamedInstrument, ...] = ()
    current: NamedInstrument | None = None
    practice: OpenPractice | None = None

    @property
    def tuning_a_hz(self) -> float | None:
        """The tuning A in force: that of the day, else that of the instrument in use."""
        holder = self.practice or self.current
        return None if holder is None else holder.tuning_a_hz


def open_at_hand(notebook: Notebook, wanted_id: int | None = None) -> AtHand:
    """Return what lies at hand; the instrument in use is the wanted one if it is there.

    Else it is the one that a fingering was logged on last, else the first.
    """
    with notebook.database.reading() as session:
        query = select(Instrument.id, Instrument.name, Instrument.tuning_a_hz)
        rows = session.execute(query.where(Instrument.deleted_at.is_(None)).order_by(Instrument.id))
        instruments = tuple(NamedInstrument(*row) for row in rows)
        current = _choose(session, instruments, wanted_id)
        practice = None if current is None else _find_practice(session, current.id)
        return AtHand(instruments, current, practice)


def _choose(
    session: Session, instruments: Sequence[NamedInstrument], wanted_id: int | None
) -> NamedInstrument | None:
    by_id = {each.id: each for each in instruments}
    if wanted_id in by_id:
        return by_id[wanted_id]
    if len(instruments) > 1:
        query = (
            select(Fingering.instrument_id)
            .where(Fingering.deleted_at.is_(None), Fingering.instrument_id.in_(by_id))
            .order_by(Fingering.id.desc())
            .limit(1)
        )
        last_id = session.scalars(query).first()
        if last_id is not None:
            return by_id[last_id]
    return instruments[0] if instruments else None


def _find_practice(session: Session, instrument_id: int) -> OpenPractice | None:
    practice = find_open_practice(session, instrument_id, now_utc())
    if practice is None:
        return None
    is_settled = PracticeTarget.state != TargetState.OPEN.value
    query = select(func.count(), func.count().filter(is_settled)).where(
        PracticeTarget.practice_id == practice.id
    )
    count, settled = session.execute(query).one()
    return OpenPractice(practice.id, settled, count, practice.tuning_a_hz)
