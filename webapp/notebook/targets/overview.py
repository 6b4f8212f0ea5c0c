"""The start page: what the notebook holds, what is missing, where to go on."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import Integer, cast, func, select
from sqlalchemy.orm import Session, contains_eager

from analysis.pitch import EqualDivision, Register, Side, WrittenPitch, register_of
from webapp.notebook.instruments.instruments import InstrumentSummary, list_instruments
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument

QUARTER_TONES = EqualDivision(24)
SEMITONE_CENTS = 100
QUARTER_TONE_CENTS = 50
LATEST_SHOWN = 6
UNPROVEN_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of a register's quarter tones the notebook covers on one instrument."""

    register: Register
    steps: tuple[WrittenPitch, ...]
    proven: tuple[WrittenPitch, ...]
    unproven: tuple[WrittenPitch, ...]
    missing: tuple[WrittenPitch, ...]


@dataclass(frozen=True, slots=True)
class InstrumentOverview:
    """An instrument with its coverage, register by register."""

    summary: InstrumentSummary
    coverage: tuple[Coverage, ...]


@dataclass(frozen=True, slots=True)
class Overview:
    """What the start page shows."""

    instruments: tuple[InstrumentOverview, ...]
    latest: tuple[Fingering, ...]
    unproven: tuple[Fingering, ...]


def open_overview(notebook: Notebook) -> Overview:
    """Return the state of the whole notebook."""
    summaries = list_instruments(notebook)
    with notebook.database.reading() as session:
        return Overview(
            instruments=tuple(
                InstrumentOverview(each, _cover(session, each.instrument)) for each in summaries
            ),
            latest=_newest(session, LATEST_SHOWN, is_unproven_only=False),
            unproven=_newest(session, UNPROVEN_SHOWN, is_unproven_only=True),
        )


def cover_instrument(notebook: Notebook, instrument: Instrument) -> tuple[Coverage, ...]:
    """Return the coverage of one instrument's quarter tones."""
    with notebook.database.reading() as session:
        return _cover(session, instrument)


def _newest(session: Session, count: int, *, is_unproven_only: bool) -> tuple[Fingering, ...]:
    query = (
        select(Fingering)
        .join(Fingering.instrument)
        .where(Fingering.deleted_at.is_(None), Instrument.deleted_at.is_(None))
        .options(contains_eager(Fingering.instrument))
        .order_by(Fingering.id.desc())
        .limit(count)
    )
    if is_unproven_only:
        query = query.where(Fingering.take_count == 0, Fingering.does_not_speak.is_(False))
    return tuple(session.scalars(query))


def _cover(session: Session, instrument: Instrument) -> tuple[Coverage, ...]:
    """Sort the quarter tones between the semitones into proven, unproven and missing."""
    kind = instrument.kind
    step = cast(Fingering.written_cents / QUARTER_TONE_CENTS + 0.5, Integer)
    rows = session.execute(
        select(step, func.max(Fingering.take_count))
        .where(
            Fingering.instrument_id == instrument.id,
            Fingering.deleted_at.is_(None),
            Fingering.does_not_speak.is_(False),
        )
        .group_by(step)
    )
    takes_by_step = dict(rows.all())
    steps = QUARTER_TONES.between(
        kind.from_treble_notation(instrument.layout.lowest), kind.ordinary_top, Side.NEAREST
    )
    between = [each for each in steps if each.cents % SEMITONE_CENTS]
    by_register = groupby(between, key=lambda each: register_of(kind.in_treble_notation(each)))
    return tuple(_sort(register, list(group), takes_by_step) for register, group in by_register)


def _sort(register: Register, steps: list[WrittenPitch], takes_by_step: dict[int, int]) -> Coverage:
    def pick(test: Iterable[bool]) -> tuple[WrittenPitch, ...]:
        return tuple(each for each, is_wanted in zip(steps, test, strict=True) if is_wanted)

    takes = [takes_by_step.get(int(each.cents / QUARTER_TONE_CENTS)) for each in steps]
    return Coverage(
        register=register,
        steps=tuple(steps),
        proven=pick(bool(count) for count in takes),
        unproven=pick(count == 0 for count in takes),
        missing=pick(count is None for count in takes),
    )
