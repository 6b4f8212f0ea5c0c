"""What a player hears beside a fingering: its target, the root of an interval, takes to compare.

A take serves if its pitch is held; of several the steadiest does, the newer one of two alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.pitch import (
    JustTarget,
    NoteNames,
    Transposition,
    Tuning,
    WrittenPitch,
    parse_pitch,
    resolve_written,
)
from webapp.models import Fingering, Instrument, Take
from webapp.notebook import Notebook
from webapp.services.evidence import load_takes

OWN_SHOWN = 6
NEIGHBOURS_LOOKED_AT = 6
FARTHEST_NEIGHBOUR_CENTS = 250.0


@dataclass(frozen=True, slots=True)
class Root:
    """The note below (or above) a target that stands a just interval from it."""

    written: WrittenPitch
    hz: float
    interval_name: str
    ratio: str


@dataclass(frozen=True, slots=True)
class Tones:
    """The tones that belong to a target; `root` is None where no interval was asked for."""

    written: WrittenPitch
    hz: float
    root: Root | None = None


@dataclass(frozen=True, slots=True)
class HeardTake:
    """The steady part of a take; `written` is the target of its fingering, `relation` its place."""

    take: Take
    written: WrittenPitch
    relation: str
    f0_hz: float
    from_s: float
    to_s: float


def find_tones(
    text: str,
    written: WrittenPitch,
    *,
    transposition: Transposition,
    tuning: Tuning,
    names: NoteNames,
) -> Tones:
    """Return the tones of a target, and its root where `text` asks for it by a just interval.

    A text that means another note by now (other note names, another tuning A) gives no root.
    """
    hz = transposition.to_sounding(written).hz(tuning)
    try:
        request = parse_pitch(text, names=names)
        meant = resolve_written(request, transposition=transposition, tuning=tuning)
    except AnalysisError:
        return Tones(written, hz)
    if not isinstance(request, JustTarget) or meant != written:
        return Tones(written, hz)
    interval = request.interval
    root = Root(
        written=request.root,
        hz=transposition.to_sounding(request.root).hz(tuning),
        interval_name=interval.name,
        ratio=f"{interval.numerator}:{interval.denominator}",
    )
    return Tones(written, hz, root)


def tones_of(fingering: Fingering, names: NoteNames, tuning: Tuning | None = None) -> Tones:
    """Return the tones of a fingering's target; its instrument must be loaded.

    The tuning A is the instrument's unless that of the day is given.
    """
    return find_tones(
        fingering.target_typed,
        fingering.written,
        transposition=fingering.instrument.transposition,
        tuning=tuning or fingering.instrument.tuning,
        names=names,
    )


def list_heard(notebook: Notebook, fingering: Fingering) -> tuple[HeardTake, ...]:
    """Return takes to compare by ear: the fingering's own, then the best of its neighbours.

    Neighbours are other fingerings of the same note, and the nearest proven notes below and above.
    """
    with notebook.database.reading() as session:
        own = _heard(load_takes(session, fingering.id), fingering, "this one")[:OWN_SHOWN]
        others = [
            heard[0]
            for row, relation in _neighbours(session, fingering)
            if (heard := _heard(load_takes(session, row.id), row, relation))
        ]
    return (*own, *others)


def list_best(notebook: Notebook, fingerings: Sequence[Fingering]) -> tuple[HeardTake, ...]:
    """Return the best take of each of a few fingerings, as far as they have one."""
    with notebook.database.reading() as session:
        found = [_heard(load_takes(session, each.id), each, "") for each in fingerings]
    return tuple(heard[0] for heard in found if heard)


def _neighbours(session: Session, fingering: Fingering) -> list[tuple[Fingering, str]]:
    cents, reach = fingering.written_cents, FARTHEST_NEIGHBOUR_CENTS
    proven = _proven(fingering)
    same = proven.where(Fingering.written_cents == cents, Fingering.id != fingering.id)
    below = proven.where(Fingering.written_cents.between(cents - reach, cents - 1.0))
    above = proven.where(Fingering.written_cents.between(cents + 1.0, cents + reach))
    found = [
        (row, "same note")
        for row in session.scalars(same.order_by(Fingering.id).limit(NEIGHBOURS_LOOKED_AT))
    ]
    for query, order, relation in (
        (below, Fingering.written_cents.desc(), "below"),
        (above, Fingering.written_cents, "above"),
    ):
        row = session.scalars(query.order_by(order, Fingering.id).limit(1)).first()
        if row is not None:
            found.append((row, relation))
    return found


def _proven(fingering: Fingering) -> Select[Fingering]:
    return (
        select(Fingering)
        .join(Fingering.instrument)
        .where(
            Fingering.instrument_id == fingering.instrument_id,
            Fingering.deleted_at.is_(None),
            Instrument.deleted_at.is_(None),
            Fingering.take_count > 0,
        )
    )


def _heard(takes: Sequence[Take], fingering: Fingering, relation: str) -> list[HeardTake]:
    found: list[tuple[float, HeardTake]] = []
    for take in reversed(takes):
        measured = take.measurement.read()
        if measured.f0_hz is None or measured.steady_from_s is None or measured.steady_to_s is None:
            continue
        heard = HeardTake(
            take=take,
            written=fingering.written,
            relation=relation,
            f0_hz=measured.f0_hz,
            from_s=measured.steady_from_s,
            to_s=measured.steady_to_s,
        )
        found.append((measured.spread_cents or 0.0, heard))
    found.sort(key=lambda pair: pair[0])
    return [heard for _, heard in found]
