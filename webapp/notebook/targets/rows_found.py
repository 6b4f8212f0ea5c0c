"""Fetches the fingerings that a search found: a page of them, those judged, and the nearest."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Select, SQLColumnExpression, func, select
from sqlalchemy.orm import Session, contains_eager, selectinload

from webapp.notebook.store.rows import Fingering
from webapp.notebook.targets.standing import Judged

NEAREST_SHOWN = 3
NEAREST_WITHIN_CENTS = 150.0  # three quarter tones: as far away as a derivation starts


def select_rows(wanted: list[ColumnElement[bool]]) -> Select[Fingering]:
    """Select fingerings with their instruments and tags."""
    return (
        select(Fingering)
        .join(Fingering.instrument)
        .where(*wanted)
        .options(contains_eager(Fingering.instrument), selectinload(Fingering.tag_rows))
    )


def turn_to(
    session: Session,
    wanted: list[ColumnElement[bool]],
    order: tuple[SQLColumnExpression[Any], ...],
    count: int,
    before_count: int,
) -> tuple[Sequence[Fingering], int]:
    """Fetch one page of rows in an order, and count them all."""
    rows = select_rows(wanted).order_by(*order).limit(count).offset(before_count)
    counted = select(func.count(Fingering.id)).join(Fingering.instrument).where(*wanted)
    return session.scalars(rows).all(), session.scalars(counted).one()


def load_rows(session: Session, judged: Sequence[Judged]) -> dict[int, Fingering]:
    """Fetch what was judged, by the number of the fingering."""
    ids = {each.facts.fingering_id for each in judged}
    if not ids:
        return {}
    return {row.id: row for row in session.scalars(select_rows([Fingering.id.in_(ids)]))}


def load_nearest(
    session: Session, wanted: list[ColumnElement[bool]], cents: float
) -> tuple[list[Fingering], list[Fingering]]:
    """Find the nearest rows on both sides that a fingering for the target could start from."""
    reach = NEAREST_WITHIN_CENTS
    speaking = [*wanted, Fingering.does_not_speak.is_(False)]
    below = session.scalars(
        select_rows([*speaking, Fingering.sounding_cents.between(cents - reach, cents)])
        .order_by(Fingering.sounding_cents.desc(), Fingering.id)
        .limit(NEAREST_SHOWN)
    )
    above = session.scalars(
        select_rows([*speaking, Fingering.sounding_cents.between(cents, cents + reach)])
        .order_by(Fingering.sounding_cents, Fingering.id)
        .limit(NEAREST_SHOWN)
    )
    return list(below), list(above)
