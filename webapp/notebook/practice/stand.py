"""Music stand: targets, each with the fingerings to try for it.

Fingerings come as a search sorts them, then what waits on the try list; what a target was put on
the list for comes first. The number of queries does not grow with the targets.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, contains_eager

from analysis.keywork import KeyStates
from analysis.pitch import NoteNames, SoundingPitch, Tuning, WrittenPitch
from webapp.notebook.finder.tries import is_readable
from webapp.notebook.fingerings.fingerings import read_target
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practice_lookup import fetch_practice, find_open_practice
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    Practice,
    PracticeTarget,
    Suggestion,
    TryState,
)
from webapp.notebook.targets.bases import StartingPoint, neighbour_bases
from webapp.notebook.targets.search import rank_of

REACH_CENTS = 25.0
LOGGED_SHOWN = 6
TRIES_SHOWN = 6
# How far beyond the written range the live display still looks for a pitch.
ROOM_CENTS = 700.0


@dataclass(frozen=True)
class Candidate:
    """A fingering to play for a target: logged, or a suggestion that waits on the try list."""

    fingering: Fingering | None
    suggestion: Suggestion | None
    target: SoundingPitch
    own_target: SoundingPitch

    @property
    def shift_cents(self) -> float:
        """How far what it was logged for, which its takes are measured against, lies off."""
        return self.target.interval_to(self.own_target)

    @property
    def is_prediction(self) -> bool:
        """Whether it was never logged."""
        return self.fingering is None

    @property
    def distance_cents(self) -> float | None:
        """How far it is known, or predicted, to sound from the target."""
        if self.fingering is None:
            assert self.suggestion is not None
            return self.suggestion.predicted_offset_cents
        if not self.fingering.is_proven:
            return None
        return self.fingering.sounding_cents - self.target.cents

    @cached_property
    def keys(self) -> KeyStates:
        """Its key states."""
        row = self.fingering or self.suggestion
        assert row is not None
        return row.key_states()

    @cached_property
    def base(self) -> KeyStates | None:
        """The key states it came from, if any."""
        row = self.fingering or self.suggestion
        assert row is not None
        return row.base_key_states()


@dataclass(frozen=True, slots=True)
class StandItem:
    """A target on the stand; `row` is its place on the list of a session."""

    row: PracticeTarget | None
    written: WrittenPitch
    target_hz: float
    candidates: tuple[Candidate, ...]
    neighbours: tuple[StartingPoint, ...]


@dataclass(frozen=True, slots=True)
class StandPage:
    """What lies on the stand; without a session it is one target, or none yet."""

    instrument: Instrument
    practice: Practice | None
    tuning_a_hz: float
    items: tuple[StandItem, ...]
    range_hz: tuple[float, float]
    is_open: bool


def open_stand(notebook: Notebook, practice_id: int) -> StandPage:
    """Return the list of a session as it lies on the stand.

    Raises:
        NotInNotebook: there is no such session.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
        rows = load_targets(session, practice_id)
        return _lay_out(session, practice.instrument, practice, rows)


def open_fingering_stand(notebook: Notebook, fingering_id: int) -> StandPage:
    """Return one fingering on the stand, with the others of its target.

    Raises:
        NotInNotebook: there is no such fingering, or it is in the bin.
    """
    with notebook.database.reading() as session:
        fingering = fetch_fingering(session, fingering_id)
        row = PracticeTarget(
            target_text=fingering.target_text, fingering=fingering, fingering_id=fingering_id
        )
        practice = find_open_practice(session, fingering.instrument_id, now_utc())
        return _lay_out(session, fingering.instrument, practice, [row])


def open_target_stand(
    notebook: Notebook, instrument_id: int, text: str, *, names: NoteNames
) -> StandPage:
    """Return one typed target on the stand; nothing typed leaves it empty.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the target cannot be read.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        rows = []
        if text.strip():
            rows = [PracticeTarget(target_text=_read(text, instrument, names).canonical)]
        practice = find_open_practice(session, instrument_id, now_utc())
        return _lay_out(session, instrument, practice, rows)


def _read(text: str, instrument: Instrument, names: NoteNames) -> WrittenPitch:
    try:
        return read_target(text, instrument, names)
    except FieldRefused as error:
        raise FieldRefused("q", str(error)) from error


def _lay_out(
    session: Session,
    instrument: Instrument,
    practice: Practice | None,
    rows: Sequence[PracticeTarget],
) -> StandPage:
    tuning = Tuning((practice or instrument).tuning_a_hz)
    logged = _load_near(session, instrument, rows)
    tries = _load_tries(session, instrument) if rows else []
    items = [_item(instrument, tuning, row, logged, tries) for row in rows]
    return StandPage(
        instrument,
        practice,
        tuning.a4_hz,
        tuple(items),
        _find_range(instrument, tuning),
        practice is not None and practice.is_open_at(now_utc()),
    )


def _load_near(
    session: Session, instrument: Instrument, rows: Iterable[PracticeTarget]
) -> list[Fingering]:
    """Return the fingerings near any of the targets, and those that the targets are for."""
    centres = {instrument.transposition.to_sounding(row.written).cents for row in rows}
    ids = {id_ for row in rows for id_ in _pinned_ids(row) if id_ is not None}
    if not centres:
        return []
    near = [
        Fingering.sounding_cents.between(each - REACH_CENTS, each + REACH_CENTS)
        for each in sorted(centres)
    ]
    query = (
        select(Fingering)
        .join(Fingering.instrument)
        .where(
            Fingering.instrument_id == instrument.id,
            Fingering.deleted_at.is_(None),
            or_(Fingering.id.in_(ids), *near),
        )
        .options(contains_eager(Fingering.instrument))
        .order_by(Fingering.id)
    )
    return list(session.scalars(query))


def _pinned_ids(row: PracticeTarget) -> tuple[int | None, int | None]:
    suggestion = row.suggestion
    return row.fingering_id, None if suggestion is None else suggestion.fingering_id


def _load_tries(session: Session, instrument: Instrument) -> list[Suggestion]:
    query = (
        select(Suggestion)
        .join(Suggestion.instrument)
        .where(
            Suggestion.instrument_id == instrument.id,
            Suggestion.state == TryState.WAITING.value,
            Suggestion.fingering_id.is_(None),
        )
        .options(contains_eager(Suggestion.instrument))
        .order_by(Suggestion.id)
    )
    return [row for row in session.scalars(query) if is_readable(row)]


def _item(
    instrument: Instrument,
    tuning: Tuning,
    row: PracticeTarget,
    logged: Sequence[Fingering],
    tries: Sequence[Suggestion],
) -> StandItem:
    written = row.written
    target = instrument.transposition.to_sounding(written)
    candidates = (
        *_choose_logged(row, target, logged),
        *_choose_tries(row, target, tries),
    )
    neighbours = () if candidates else neighbour_bases(instrument, written)
    return StandItem(
        row=row if row.id is not None else None,
        written=written,
        target_hz=target.hz(tuning),
        candidates=_first_the_wanted(row, candidates),
        neighbours=tuple(each for each in neighbours if each is not None),
    )


def _choose_logged(
    row: PracticeTarget, target: SoundingPitch, logged: Sequence[Fingering]
) -> list[Candidate]:
    pinned = _pinned_ids(row)
    ranked = sorted(
        (rank_of(each, each.sounding_cents - target.cents), each)
        for each in logged
        if each.id in pinned
        or (abs(each.sounding_cents - target.cents) <= REACH_CENTS and not each.does_not_speak)
    )
    wanted = [each for _, each in ranked if each.id in pinned]
    others = [each for _, each in ranked if each.id not in pinned]
    return [
        Candidate(each, None, target, SoundingPitch(each.target_cents))
        for each in (*wanted, *others[: LOGGED_SHOWN - len(wanted)])
    ]


def _choose_tries(
    row: PracticeTarget, target: SoundingPitch, tries: Sequence[Suggestion]
) -> list[Candidate]:
    found = [each for each in tries if each.written.cents == row.written.cents]
    found.sort(key=lambda each: each.id != row.suggestion_id)
    return [Candidate(None, each, target, target) for each in found[:TRIES_SHOWN]]


def _first_the_wanted(
    row: PracticeTarget, candidates: tuple[Candidate, ...]
) -> tuple[Candidate, ...]:
    """Put first what the target is on the list for."""

    def is_other(each: Candidate) -> bool:
        if each.suggestion is not None:
            return each.suggestion.id != row.suggestion_id
        return each.fingering is None or each.fingering.id not in _pinned_ids(row)

    return tuple(sorted(candidates, key=is_other))


def _find_range(instrument: Instrument, tuning: Tuning) -> tuple[float, float]:
    """Return the lowest and the highest frequency to listen for."""
    low = instrument.kind.from_treble_notation(instrument.layout.lowest)
    high = instrument.kind.ordinary_top
    sounding = [instrument.transposition.to_sounding(each).cents for each in (low, high)]
    low_hz = SoundingPitch(sounding[0] - ROOM_CENTS).hz(tuning)
    return low_hz, SoundingPitch(sounding[1] + ROOM_CENTS).hz(tuning)
