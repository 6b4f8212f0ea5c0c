"""Pools takes into one offset with uncertainty, the day taken out: the one figure of a fingering.

Only takes that count are pooled (`analysis.recording.take_selection`). Cold reeds, warm rooms and
pulled barrels move everything on a day. Where a day has tuning notes, a take counts with what they
say of the day taken out (`tuning_reference`), else by its distance from the tuning A alone.

Fingerings that leave the same holes open are one to the air. Where the player wishes it
(`shares_evidence`), those of one instrument and one target have their takes pooled together.
"""

from collections.abc import Iterable, Mapping, Sequence
from statistics import median

from sqlalchemy import select
from sqlalchemy.orm import Session, defer, selectinload, undefer

from analysis.errors import AnalysisError
from analysis.keywork import parse_fingering
from analysis.pitch import SoundingPitch
from analysis.recording import (
    Expectation,
    TakeOffset,
    TakeReading,
    asks_the_tube,
    pool_takes,
    select_takes,
)
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take, TuningNote
from webapp.notebook.takes.offsets import take_offset
from webapp.notebook.takes.tuning_reference import find_day, find_references


def load_takes(session: Session, fingering_id: int) -> list[Take]:
    """Return the takes of a fingering outside the bin, oldest first, with their measurements.

    Without the details of these, which are nearly all of their bytes; see `load_details`.
    """
    query = (
        select(Take)
        .where(Take.fingering_id == fingering_id, Take.deleted_at.is_(None))
        .options(
            selectinload(Take.measurements).options(defer(Measurement.details, raiseload=True))
        )
        .order_by(Take.recorded_at, Take.id)
    )
    return list(session.scalars(query))


def load_details(session: Session, takes: Iterable[Take]) -> None:
    """Load the details of the newest measurement of each take; one query."""
    ids = {take.measurement.id for take in takes}
    if ids:
        query = select(Measurement).where(Measurement.id.in_(ids))
        options = query.options(undefer(Measurement.details))
        session.scalars(options.execution_options(populate_existing=True)).all()


def count_shared(fingering: Fingering, own_takes: Sequence[Take]) -> int:
    """Count the takes of other fingerings that stand behind the figure of this one."""
    own = sum(take.counts for take in own_takes)
    return fingering.take_count - own if fingering.shares_evidence else 0


def find_sharing(session: Session, fingering: Fingering) -> list[Fingering]:
    """Return the other fingerings whose takes count for this one too, without those in the bin."""
    if not fingering.shares_evidence or fingering.hole_signature is None:
        return []
    query = select(Fingering).where(
        Fingering.instrument_id == fingering.instrument_id,
        Fingering.hole_signature == fingering.hole_signature,
        Fingering.written_cents == fingering.written_cents,
        Fingering.shares_evidence.is_(True),
        Fingering.deleted_at.is_(None),
        Fingering.id != fingering.id,
    )
    return list(session.scalars(query.order_by(Fingering.id)))


def refresh_evidence(session: Session, fingering: Fingering) -> None:
    """Pool the takes of a fingering anew, and of those whose figure hangs on them.

    Those are the fingerings that share evidence with it, and those played on a day whose tuning
    note is one of its takes.
    """
    sharing = find_sharing(session, fingering)
    for each in (fingering, *sharing):
        others = [one for one in (fingering, *sharing) if one.id != each.id and not one.deleted_at]
        _pool(session, each, others)
    practices = session.scalars(
        select(TuningNote.practice_id)
        .join(Take, Take.id == TuningNote.take_id)
        .where(Take.fingering_id == fingering.id)
        .distinct()
    )
    for practice_id in practices.all():
        refresh_practice(session, practice_id, but=fingering.id)


def refresh_practice(session: Session, practice_id: int, *, but: int | None = None) -> None:
    """Pool anew what was played in a practice whose tuning notes or barrel pull have changed.

    What shares evidence with it is pooled anew as well.

    Args:
        session: a writing transaction; its changes are flushed.
        practice_id: the practice.
        but: the number of a fingering that is left out.
    """
    session.flush()
    played = select(Take.fingering_id).where(Take.practice_id == practice_id)
    rows = session.scalars(select(Fingering).where(Fingering.id.in_(played))).all()
    hanging = {one.id: one for row in rows for one in (row, *find_sharing(session, row))}
    for row in hanging.values():
        if row.id != but:
            pool_evidence(session, row)


def pool_evidence(session: Session, fingering: Fingering) -> None:
    """Pool the takes of one fingering, with those that it shares, into its one figure."""
    _pool(session, fingering, find_sharing(session, fingering))


def _pool(session: Session, fingering: Fingering, others: Sequence[Fingering]) -> None:
    target = SoundingPitch(fingering.target_cents)
    takes = [take for each in (fingering, *others) for take in load_takes(session, each.id)]
    offsets = correct_for_day(session, takes, target)
    _select(session, fingering, takes, offsets)
    counting = [take for take in takes if take.counts]
    fingering.take_count = len(counting)
    fingering.failed_take_count = len(takes) - len(offsets)
    fingering.set_aside_count = len(offsets) - len(counting)
    fingering.is_watched = bool(counting) and all(take.is_watched for take in counting)
    spreads = [spread for take in counting if (spread := take.measurement.spread_cents) is not None]
    fingering.spread_cents = median(spreads) if spreads else None
    if not counting:
        fingering.offset_cents = fingering.offset_uncertainty_cents = None
        fingering.sounding_cents = fingering.target_cents
        return
    pooled = pool_takes([offsets[take.id] for take in counting])
    fingering.offset_cents = pooled.offset_cents
    fingering.offset_uncertainty_cents = pooled.uncertainty_cents
    fingering.sounding_cents = fingering.target_cents + pooled.offset_cents


def _select(
    session: Session,
    fingering: Fingering,
    takes: Sequence[Take],
    offsets: Mapping[int, TakeOffset],
) -> None:
    """Write the standing of each take."""
    readings = [_read(take, offsets.get(take.id)) for take in takes]
    expectation = _expect(session, fingering) if asks_the_tube(readings) else None
    standings = select_takes(
        readings, expectation=expectation, has_half_hole=fingering.has_half_hole
    )
    for take, standing in zip(takes, standings, strict=True):
        take.standing = standing.value


def _read(take: Take, offset: TakeOffset | None) -> TakeReading:
    return TakeReading(
        offset_cents=None if offset is None else offset.offset_cents,
        cell=(take.dynamic, take.practice_id or day_of(take.recorded_at)),
        is_spoilt=take.measurement.is_spoilt,
        is_watched=take.is_watched,
        is_confirmed=take.is_confirmed,
    )


def _expect(session: Session, fingering: Fingering) -> Expectation | None:
    """Ask the untaught tube, never the player's model: what was learned cannot judge itself."""
    from analysis.finder import predict_untaught  # a tube that few starts need

    instrument = session.get_one(Instrument, fingering.instrument_id)
    try:
        keys = parse_fingering(fingering.keys_text, instrument.layout)
        found = predict_untaught(instrument.kind_id, keys, fingering.written)
    except AnalysisError:
        return None
    return Expectation(*found) if found is not None else None


def correct_for_day(
    session: Session, takes: Sequence[Take], target: SoundingPitch
) -> dict[int, TakeOffset]:
    """Return, by the number of the take, how far it lies from a target with the day taken out.

    Where the day has tuning notes that is against what they say of it at the moment of the take,
    else against the tuning A alone; so it is too for a take that is a tuning note itself. A take
    without a pitch is left out.
    """
    practice_ids = {take.practice_id for take in takes if take.practice_id is not None}
    references = find_references(session, practice_ids) if practice_ids else {}
    found = {}
    for take in takes:
        offset = take_offset(take, target)
        if offset is None:
            continue
        practice_id = take.practice_id or 0
        day = find_day(take, practice_id, references.get(practice_id), target)
        found[take.id] = day.relative or offset
    return found
