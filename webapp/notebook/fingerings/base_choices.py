"""The bases that a player can choose from: the ordinary fingerings, and those that are logged."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.keywork import fingerings_to_try, ordinary_fingerings
from analysis.pitch import register_of
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.bases import StartingPoint, from_logged, from_ordinary, own_ordinary

LOGGED_BASES_OFFERED = 400


@dataclass(frozen=True, slots=True)
class BaseGroup:
    """Bases that stand together in a list."""

    name: str
    bases: tuple[StartingPoint, ...]


def offer_bases(
    session: Session, instrument: Instrument, kept: StartingPoint | None = None
) -> tuple[BaseGroup, ...]:
    """Return what the player can start from: ordinary fingerings by register, then logged ones.

    The player's own ordinary fingerings stand first; those of the layout for the same notes, and
    those to try, stand apart. The base that a fingering has already (`kept`) is offered in any
    case, so that a form sends it back.
    """
    own = own_ordinary(session, instrument)
    groups = [BaseGroup("Your ordinary ones", tuple(own.values()))] if own else []
    groups.extend(_list_ordinary(instrument, frozenset(own)))
    query = (
        select(Fingering)
        .where(Fingering.instrument_id == instrument.id, Fingering.deleted_at.is_(None))
        .order_by(Fingering.written_cents, Fingering.id)
        .limit(LOGGED_BASES_OFFERED)
    )
    logged = tuple(from_logged(row, instrument) for row in session.scalars(query))
    if logged:
        groups.append(BaseGroup("In this notebook", logged))
    offered = {base.reference for group in groups for base in group.bases}
    if kept is not None and kept.reference not in offered:
        groups.append(BaseGroup("As it is kept", (kept,)))
    return tuple(groups)


def _list_ordinary(instrument: Instrument, own: frozenset[Fraction]) -> Iterator[BaseGroup]:
    ordinary = ordinary_fingerings(instrument.layout)
    replaced: list[StartingPoint] = []
    for register, members in groupby(ordinary, key=lambda each: register_of(each.written)):
        bases = [from_ordinary(each, instrument) for each in members]
        kept = tuple(base for base in bases if base.written.cents not in own)
        replaced.extend(base for base in bases if base.written.cents in own)
        if kept:
            yield BaseGroup(f"Ordinary, {register.value}", kept)
    if replaced:
        yield BaseGroup("Ordinary, where you have your own", tuple(replaced))
    to_try = tuple(from_ordinary(each, instrument) for each in fingerings_to_try(instrument.layout))
    if to_try:
        yield BaseGroup("To try, from memory", to_try)
