"""Playback beside a fingering: the tone of its target, the root of an interval, takes to compare.

A take serves if its pitch is held; of several the steadiest does, the newer one of two alike.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, selectinload

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
from analysis.recording import TakeStanding
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take

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
class PlaybackTake:
    """The steady part of a take, to be played.

    `written` is the target of its fingering, `relation` its place beside the one that is looked at.
    """

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


def list_playback(
    session: Session, fingering: Fingering, takes: Sequence[Take]
) -> tuple[PlaybackTake, ...]:
    """Return takes to compare by ear: the fingering's own, then the best of its neighbours.

    Neighbours are other fingerings of the same note, and the nearest measured notes on both sides.
    The measurements of `takes`, oldest first, must be loaded, with the details of `choose_own`.
    """
    own = [_steady_part(take, fingering, "this one") for take in choose_own(takes)]
    near = _neighbours(session, fingering)
    best = _load_best(session, [row.id for row, _ in near])
    others = [_steady_part(best[row.id], row, how) for row, how in near if row.id in best]
    return (*_without_gaps(own), *_without_gaps(others))


def choose_own(takes: Sequence[Take]) -> list[Take]:
    """Return the few takes of a fingering that are offered to be heard, the steadiest first."""
    return _steadiest_first(takes)[:OWN_SHOWN]


def list_best(session: Session, fingerings: Sequence[Fingering]) -> tuple[PlaybackTake, ...]:
    """Return the best take of each of a few fingerings, as far as they have one."""
    best = _load_best(session, [each.id for each in fingerings])
    found = [_steady_part(best[each.id], each, "") for each in fingerings if each.id in best]
    return tuple(_without_gaps(found))


def load_best_takes(session: Session, fingering_ids: Collection[int]) -> dict[int, int]:
    """Return the number of the best take of each fingering that has one: one query, few columns."""
    if not fingering_ids:
        return {}
    query = (
        select(Take.fingering_id, Take.id, Measurement.f0_hz, Measurement.spread_cents)
        .join(Take.measurements)
        .where(
            Take.fingering_id.in_(fingering_ids),
            Take.deleted_at.is_(None),
            Take.standing == TakeStanding.COUNTS.value,
        )
        .order_by(Take.recorded_at, Take.id, Measurement.id)
    )
    # the newest measurement of a take is its last row
    newest = {row.id: row for row in session.execute(query)}
    best: dict[int, tuple[float, int]] = {}
    for take_id, row in newest.items():
        if row.f0_hz is None or row.fingering_id is None:
            continue
        spread = row.spread_cents or 0.0
        if row.fingering_id not in best or spread <= best[row.fingering_id][0]:
            best[row.fingering_id] = (spread, take_id)
    return {fingering_id: take_id for fingering_id, (_, take_id) in best.items()}


def _load_best(session: Session, fingering_ids: Collection[int]) -> dict[int, Take]:
    """Return the best take of each fingering that has one, with its measurements."""
    ids = load_best_takes(session, fingering_ids).values()
    if not ids:
        return {}
    query = select(Take).where(Take.id.in_(ids)).options(selectinload(Take.measurements))
    return {take.fingering_id: take for take in session.scalars(query) if take.fingering_id}


def _neighbours(session: Session, fingering: Fingering) -> list[tuple[Fingering, str]]:
    cents, reach = fingering.written_cents, FARTHEST_NEIGHBOUR_CENTS
    measured = _measured(fingering)
    same = measured.where(Fingering.written_cents == cents, Fingering.id != fingering.id)
    below = measured.where(Fingering.written_cents.between(cents - reach, cents - 1.0))
    above = measured.where(Fingering.written_cents.between(cents + 1.0, cents + reach))
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


def _measured(fingering: Fingering) -> Select[Fingering]:
    return (
        select(Fingering)
        .join(Fingering.instrument)
        .where(
            Fingering.instrument_id == fingering.instrument_id,
            Fingering.deleted_at.is_(None),
            Instrument.deleted_at.is_(None),
            # says nothing, and opens the index to the written cents that follow it there
            Fingering.does_not_speak.in_([False, True]),
            Fingering.take_count > 0,
        )
    )


def _steadiest_first(takes: Sequence[Take]) -> list[Take]:
    held = [take for take in reversed(takes) if take.measurement.f0_hz is not None]
    return sorted(held, key=lambda take: take.measurement.spread_cents or 0.0)


def _steady_part(take: Take, fingering: Fingering, relation: str) -> PlaybackTake | None:
    """Return the steady part of a take; None where it has none."""
    measured = take.measurement.read()
    if measured.f0_hz is None or measured.steady_from_s is None or measured.steady_to_s is None:
        return None
    return PlaybackTake(
        take=take,
        written=fingering.written,
        relation=relation,
        f0_hz=measured.f0_hz,
        from_s=measured.steady_from_s,
        to_s=measured.steady_to_s,
    )


def _without_gaps(found: Iterable[PlaybackTake | None]) -> list[PlaybackTake]:
    return [each for each in found if each is not None]
