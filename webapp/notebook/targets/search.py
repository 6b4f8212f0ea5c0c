"""Find fingerings by the pitch they sound.

What was typed becomes one number, sounding cents, and the rest is a lookup in the index on that
number: a range around the target, or where that is empty the nearest rows on both sides, up to
three quarter tones away. For one instrument the text is a written pitch of that instrument; across
instruments it is a sounding (concert) pitch.

Order: fingerings that speak first, then those without a half-hole (a half-hole cannot be set the
same way twice: common practice, from memory), then by distance in bands of five cents, then by
evidence (number of usable takes, at most five), then by resistance, then by exact distance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Integer,
    Select,
    SQLColumnExpression,
    and_,
    case,
    cast,
    func,
    select,
)
from sqlalchemy.orm import Session, contains_eager, selectinload

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.pitch import (
    KINDS,
    Frequency,
    NoteNames,
    Register,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
    parse_pitch,
    register_bounds,
    resolve_written,
)
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.targets.bases import StartingPoint, neighbour_bases

HITS_ON_A_PAGE = 10
NEAREST_SHOWN = 3
NEAREST_WITHIN_CENTS = 150.0  # three quarter tones: as far away as a derivation starts
DISTANCE_BAND_CENTS = 5.0
TAKES_THAT_COUNT = 5
WIDEST_TOLERANCE_CENTS = 200.0
CONCERT = Transposition(0)
USUAL_TUNING = Tuning(440.0)


@dataclass(frozen=True, slots=True)
class SearchQuery:
    """What the player asks for; without a text all that passes the filters is listed by pitch."""

    text: str = ""
    instrument_id: int | None = None
    tolerance_cents: float = 25.0
    strategy: Strategy | None = None
    highest_resistance: int | None = None
    is_without_half_holes: bool = False
    is_proven_only: bool = False
    register: Register | None = None
    page: int = 1
    hits_on_a_page: int = HITS_ON_A_PAGE

    @property
    def before_count(self) -> int:
        """How many hits lie on the pages before."""
        return (self.page - 1) * self.hits_on_a_page


@dataclass(frozen=True, slots=True)
class Target:
    """The target as it was understood."""

    written: WrittenPitch
    sounding: SoundingPitch
    tuning: Tuning
    is_frequency: bool


@dataclass(frozen=True, slots=True)
class Hit:
    """A fingering that was found, and how far it sounds from the target."""

    fingering: Fingering
    distance_cents: float | None


@dataclass(frozen=True, slots=True)
class SearchResult:
    """One page of what was found; where nothing lies within the tolerance, what is near."""

    instrument: Instrument | None
    target: Target | None
    hits: tuple[Hit, ...]
    hit_count: int
    before_count: int = 0
    nearest_below: tuple[Hit, ...] = ()
    nearest_above: tuple[Hit, ...] = ()
    neighbour_below: StartingPoint | None = None
    neighbour_above: StartingPoint | None = None

    @property
    def nearest(self) -> tuple[Hit, ...]:
        """What is near on both sides, from the nearest below down, then up."""
        return (*self.nearest_below, *self.nearest_above)

    @property
    def has_more(self) -> bool:
        """Whether there are hits on the pages after."""
        return self.before_count + len(self.hits) < self.hit_count


def search_target(notebook: Notebook, query: SearchQuery, *, names: NoteNames) -> SearchResult:
    """Find fingerings near a target.

    Raises:
        NotInNotebook: the instrument is not there.
        FieldRefused: the text cannot be read, has several meanings, or the tolerance is off.
    """
    check_tolerance(query)
    with notebook.database.reading() as session:
        instrument = (
            fetch(session, Instrument, query.instrument_id) if query.instrument_id else None
        )
        wanted = _filters(query)
        if not query.text.strip():
            return _list_all(session, instrument, wanted, query)
        target = _read(query.text, instrument, names)
        return _find(session, instrument, target, wanted, query)


def check_tolerance(query: SearchQuery) -> None:
    """Refuse a tolerance that is none, or so wide that everything is near.

    Raises:
        FieldRefused: the tolerance is off.
    """
    if not 0 < query.tolerance_cents <= WIDEST_TOLERANCE_CENTS:
        raise FieldRefused(
            "tolerance_cents",
            f"Search within more than 0 and up to {WIDEST_TOLERANCE_CENTS:g} cents of the target.",
        )


def _read(text: str, instrument: Instrument | None, names: NoteNames) -> Target:
    transposition = instrument.transposition if instrument else CONCERT
    tuning = instrument.tuning if instrument else USUAL_TUNING
    try:
        request = parse_pitch(text, names=names)
        written = resolve_written(request, transposition=transposition, tuning=tuning)
    except AnalysisError as error:
        raise FieldRefused("text", str(error)) from error
    return Target(
        written, transposition.to_sounding(written), tuning, isinstance(request, Frequency)
    )


def _filters(query: SearchQuery) -> list[ColumnElement[bool]]:
    wanted: list[ColumnElement[bool]] = [
        Fingering.deleted_at.is_(None),
        Instrument.deleted_at.is_(None),
    ]
    if query.instrument_id:
        wanted.append(Fingering.instrument_id == query.instrument_id)
    wanted.extend(narrow_down(query))
    if query.register is not None:
        # Registers are named in treble notation; bass-clef parts are written an octave lower.
        shifts = {each.id: each.treble_shift_cents for each in KINDS.values()}
        in_treble = Fingering.written_cents + case(shifts, value=Instrument.kind_id, else_=0)
        low, high = (float(bound) for bound in register_bounds(query.register))
        wanted.append(and_(in_treble >= low, in_treble < high))
    return wanted


def narrow_down(query: SearchQuery) -> list[ColumnElement[bool]]:
    """Return what a fingering has to be, wherever it sounds and on whatever instrument."""
    wanted: list[ColumnElement[bool]] = []
    if query.strategy is not None:
        wanted.append(Fingering.strategy == query.strategy.value)
    if query.highest_resistance is not None:
        wanted.append(Fingering.resistance <= query.highest_resistance)
    if query.is_without_half_holes:
        wanted.append(Fingering.has_half_hole.is_(False))
    if query.is_proven_only:
        wanted.append(Fingering.take_count > 0)
    return wanted


def _rows(wanted: list[ColumnElement[bool]]) -> Select[Fingering]:
    return (
        select(Fingering)
        .join(Fingering.instrument)
        .where(*wanted)
        .options(contains_eager(Fingering.instrument), selectinload(Fingering.tag_rows))
    )


def _list_all(
    session: Session,
    instrument: Instrument | None,
    wanted: list[ColumnElement[bool]],
    query: SearchQuery,
) -> SearchResult:
    order = (Fingering.sounding_cents, Fingering.id)
    rows, count = _turn_to(session, wanted, order, query)
    hits = tuple(Hit(row, None) for row in rows)
    return SearchResult(instrument, None, hits, count, query.before_count)


def _find(
    session: Session,
    instrument: Instrument | None,
    target: Target,
    wanted: list[ColumnElement[bool]],
    query: SearchQuery,
) -> SearchResult:
    cents, reach = target.sounding.cents, query.tolerance_cents
    within = [*wanted, Fingering.sounding_cents.between(cents - reach, cents + reach)]
    order = order_of_merit(func.abs(Fingering.sounding_cents - cents))
    rows, count = _turn_to(session, within, order, query)
    sides = _nearest(session, wanted, cents) if not count else ((), ())
    neighbours = neighbour_bases(instrument, target.written) if instrument else (None, None)
    return SearchResult(
        instrument,
        target,
        _hits(rows, cents),
        count,
        query.before_count,
        *sides,
        *neighbours,
    )


def _turn_to(
    session: Session,
    wanted: list[ColumnElement[bool]],
    order: tuple[SQLColumnExpression[Any], ...],
    query: SearchQuery,
) -> tuple[Sequence[Fingering], int]:
    """Fetch one page of rows in an order, and count them all."""
    rows = _rows(wanted).order_by(*order).limit(query.hits_on_a_page).offset(query.before_count)
    count = select(func.count(Fingering.id)).join(Fingering.instrument).where(*wanted)
    return session.scalars(rows).all(), session.scalars(count).one()


def order_of_merit(distance: ColumnElement[float]) -> tuple[SQLColumnExpression[Any], ...]:
    """Return the order of hits whose distance from the target is `distance`, the best first."""
    return (
        Fingering.does_not_speak,
        Fingering.has_half_hole,
        cast(distance / DISTANCE_BAND_CENTS, Integer),
        case(
            (Fingering.take_count > TAKES_THAT_COUNT, TAKES_THAT_COUNT), else_=Fingering.take_count
        ).desc(),
        func.coalesce(Fingering.resistance, 3),
        distance,
        Fingering.id,
    )


def rank_of(fingering: Fingering, distance_cents: float) -> tuple[float, ...]:
    """Return what sorts fingerings near one target as a search does, without asking the database.

    It says the same as `order_of_merit`; a test compares the two.
    """
    away = abs(distance_cents)
    return (
        fingering.does_not_speak,
        fingering.has_half_hole,
        int(away / DISTANCE_BAND_CENTS),
        -min(fingering.take_count, TAKES_THAT_COUNT),
        3 if fingering.resistance is None else fingering.resistance,
        away,
        fingering.id,
    )


def _nearest(
    session: Session, wanted: list[ColumnElement[bool]], cents: float
) -> tuple[tuple[Hit, ...], tuple[Hit, ...]]:
    """The nearest rows on both sides that a fingering for the target could start from."""
    reach = NEAREST_WITHIN_CENTS
    below = session.scalars(
        _rows([*wanted, Fingering.sounding_cents.between(cents - reach, cents)])
        .order_by(Fingering.sounding_cents.desc())
        .limit(NEAREST_SHOWN)
    )
    above = session.scalars(
        _rows([*wanted, Fingering.sounding_cents.between(cents, cents + reach)])
        .order_by(Fingering.sounding_cents)
        .limit(NEAREST_SHOWN)
    )
    return _hits(below.all(), cents), _hits(above.all(), cents)


def _hits(rows: Sequence[Fingering], cents: float) -> tuple[Hit, ...]:
    return tuple(Hit(row, row.sounding_cents - cents) for row in rows)
