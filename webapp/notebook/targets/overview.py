"""The start page: what the notebook holds, what is missing, where to go on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import groupby

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, contains_eager, selectinload

from analysis.pitch import QUARTER_TONES, Register, WrittenPitch, register_of
from analysis.recording import OTHER_NOTES
from webapp.notebook.instruments.instruments import InstrumentSummary, summarise_instruments
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.targets.answers import Judge, read_judge, read_judges
from webapp.notebook.targets.facts import Look
from webapp.notebook.targets.range import choose_grid
from webapp.notebook.targets.standing import Standing

SEMITONE_CENTS = 100
LATEST_SHOWN = 3
TAKES_SHOWN = 3
UNMEASURED_SHOWN = 3
WAITING_SHOWN = 3
_BRIEF = Look(is_brief=True)
_IS_UNMEASURED = (Fingering.take_count == 0, Fingering.does_not_speak.is_(False))
_WITH_OTHER_NOTES = select(Take.fingering_id).where(
    Take.standing.in_([each.value for each in OTHER_NOTES]), Take.deleted_at.is_(None)
)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of a register's quarter tones the notebook covers on one instrument.

    A quarter tone counts by the standing of what is first for it; `solved` are those for which
    something is in tune, or the player's own is near.
    """

    register: Register
    steps: tuple[WrittenPitch, ...]
    in_tune: tuple[WrittenPitch, ...]
    near: tuple[WrittenPitch, ...]
    not_tried: tuple[WrittenPitch, ...]
    missing: tuple[WrittenPitch, ...]
    solved: tuple[WrittenPitch, ...]


@dataclass(frozen=True, slots=True)
class InstrumentOverview:
    """An instrument with its coverage, register by register."""

    summary: InstrumentSummary
    coverage: tuple[Coverage, ...]


@dataclass(frozen=True, slots=True)
class Overview:
    """What the start page shows."""

    instruments: tuple[InstrumentOverview, ...]
    writing: Writing
    latest: tuple[Fingering, ...]
    unmeasured: tuple[Fingering, ...]
    # takes of another note than their fingering was logged for wait for the player's word
    waiting: tuple[Fingering, ...] = ()
    # the newest takes of fingerings, with fingering, instrument and measurement
    takes: tuple[Take, ...] = ()
    unsorted_counts: Mapping[int, int] = field(default_factory=dict)


def open_overview(notebook: Notebook) -> Overview:
    """Return the state of the whole notebook."""
    with notebook.database.reading() as session:
        summaries = summarise_instruments(session)
        judges = read_judges(session, [each.instrument for each in summaries], look=_BRIEF)
        return Overview(
            instruments=tuple(
                InstrumentOverview(each, _cover(judges[each.instrument.id], each.instrument))
                for each in summaries
            ),
            writing=find_preferences(session),
            latest=_newest(session, LATEST_SHOWN),
            unmeasured=_newest(session, UNMEASURED_SHOWN, *_IS_UNMEASURED),
            waiting=_newest(session, WAITING_SHOWN, Fingering.id.in_(_WITH_OTHER_NOTES)),
            takes=_newest_takes(session),
            unsorted_counts=_count_unsorted(session),
        )


def cover_instrument(notebook: Notebook, instrument: Instrument) -> tuple[Coverage, ...]:
    """Return the coverage of one instrument's quarter tones."""
    with notebook.database.reading() as session:
        return _cover(read_judge(session, instrument, look=_BRIEF), instrument)


def _count_unsorted(session: Session) -> dict[int, int]:
    query = (
        select(Take.instrument_id, func.count())
        .where(Take.fingering_id.is_(None), Take.deleted_at.is_(None))
        .group_by(Take.instrument_id)
    )
    return {row[0]: row[1] for row in session.execute(query)}


def _newest(session: Session, count: int, *wanted: ColumnElement[bool]) -> tuple[Fingering, ...]:
    query = (
        select(Fingering)
        .join(Fingering.instrument)
        .where(Fingering.deleted_at.is_(None), Instrument.deleted_at.is_(None), *wanted)
        .options(contains_eager(Fingering.instrument))
        .order_by(Fingering.id.desc())
        .limit(count)
    )
    return tuple(session.scalars(query))


def _newest_takes(session: Session) -> tuple[Take, ...]:
    query = (
        select(Take)
        .join(Take.fingering)
        .join(Fingering.instrument)
        .where(
            Take.deleted_at.is_(None),
            Fingering.deleted_at.is_(None),
            Instrument.deleted_at.is_(None),
        )
        .options(
            contains_eager(Take.fingering).contains_eager(Fingering.instrument),
            selectinload(Take.measurements),
        )
        .order_by(Take.recorded_at.desc(), Take.id.desc())
        .limit(TAKES_SHOWN)
    )
    return tuple(session.scalars(query))


def _cover(judge: Judge, instrument: Instrument) -> tuple[Coverage, ...]:
    """Sort the quarter tones between the semitones by the best that each has."""
    kind = instrument.kind
    steps = choose_grid(instrument, QUARTER_TONES)
    between = [each for each in steps if each.cents % SEMITONE_CENTS]
    by_register = groupby(between, key=lambda each: register_of(kind.in_treble_notation(each)))
    return tuple(_sort(judge, register, list(group)) for register, group in by_register)


def _sort(judge: Judge, register: Register, steps: list[WrittenPitch]) -> Coverage:
    answers = {step: judge.answer(step) for step in steps}
    firsts = {step: answer.best for step, answer in answers.items()}

    def pick(standing: Standing | None) -> tuple[WrittenPitch, ...]:
        return tuple(
            step for step, found in firsts.items() if (found and found.standing) is standing
        )

    return Coverage(
        register=register,
        steps=tuple(steps),
        in_tune=pick(Standing.IN_TUNE),
        near=pick(Standing.NEAR),
        not_tried=pick(Standing.NOT_TRIED),
        missing=pick(None),
        solved=tuple(step for step, answer in answers.items() if answer.is_solved),
    )
