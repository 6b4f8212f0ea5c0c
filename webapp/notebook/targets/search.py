"""Find fingerings by the pitch they sound.

What was typed becomes one number, sounding cents; the judge (`answers`) says how every fingering
stands to it and in which order. For one instrument the text is a written pitch of that instrument;
across instruments it is a sounding (concert) pitch. The width that is asked for widens the list,
never the standing; where the list is empty the nearest within three quarter tones stay as
starting points.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import itemgetter

from sqlalchemy import (
    ColumnElement,
    and_,
    case,
    select,
)
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.pitch import (
    KINDS,
    Frequency,
    NoteNames,
    Register,
    Sentence,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
    parse_pitch,
    register_bounds,
    resolve_written,
)
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.note_refusals import refuse_text
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Choice, Fingering, Instrument, Role
from webapp.notebook.targets.answers import read_judges, sounds_as
from webapp.notebook.targets.bases import StartingPoint, bases_to_try, neighbour_bases, own_ordinary
from webapp.notebook.targets.facts import Look, facts_of
from webapp.notebook.targets.note_answer import NoteAnswer, Part
from webapp.notebook.targets.reading import refuse_below_range
from webapp.notebook.targets.rows_found import load_nearest, load_rows, turn_to
from webapp.notebook.targets.standing import Judged, judge

HITS_ON_A_PAGE = 10
WIDEST_CENTS = 200.0
CONCERT = Transposition(0)
USUAL_TUNING = Tuning(440.0)


@dataclass(frozen=True, slots=True)
class SearchQuery:
    """What the player asks for; without a text all that passes the filters is listed by pitch.

    `in_hand` is the note that was found last, which +50 alone is counted from.
    """

    text: str = ""
    instrument_id: int | None = None
    within_cents: float = 25.0
    strategy: Strategy | None = None
    highest_resistance: int | None = None
    is_without_half_holes: bool = False
    is_measured_only: bool = False
    is_choice_only: bool = False
    register: Register | None = None
    page: int = 1
    hits_on_a_page: int = HITS_ON_A_PAGE
    in_hand: WrittenPitch | None = None

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
    """A fingering that was found, as it stands to the target; without a target nothing is said."""

    fingering: Fingering
    judged: Judged | None = None

    @property
    def distance_cents(self) -> float | None:
        """How far it is measured to sound from the target."""
        return self.judged.offset_cents if self.judged else None

    @property
    def sounds_as(self) -> Sentence:
        """Where it sounds; its instrument must be loaded."""
        return sounds_as(self.fingering.instrument, self.fingering.sounding_cents)


@dataclass(frozen=True, slots=True)
class SearchResult:
    """One page of what was found; where the list is empty, what is near.

    `history` was logged for the target and sounds elsewhere, `silent` was logged for it and
    does not speak; neither is a hit. `to_try` is there for a note above all that is known.
    `answers` are what the judge said, by the number of the instrument.
    """

    instrument: Instrument | None
    target: Target | None
    hits: tuple[Hit, ...]
    hit_count: int
    before_count: int = 0
    history: tuple[Hit, ...] = ()
    silent: tuple[Hit, ...] = ()
    nearest_below: tuple[Hit, ...] = ()
    nearest_above: tuple[Hit, ...] = ()
    neighbour_below: StartingPoint | None = None
    neighbour_above: StartingPoint | None = None
    to_try: tuple[StartingPoint, ...] = ()
    answers: Mapping[int, NoteAnswer] = field(default_factory=dict)

    @property
    def answer(self) -> NoteAnswer | None:
        """What the judge said for the one instrument that was asked for."""
        return self.answers.get(self.instrument.id) if self.instrument else None

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
    with notebook.database.reading() as session:
        return search_within(session, query, names=names)


def search_within(session: Session, query: SearchQuery, *, names: NoteNames) -> SearchResult:
    """Do the same within a transaction that reads more."""
    check_width(query)
    instrument = fetch(session, Instrument, query.instrument_id) if query.instrument_id else None
    wanted = _filters(query)
    if not query.text.strip():
        return _list_all(session, instrument, wanted, query)
    target = _read(session, query, instrument, names)
    return _find(session, instrument, target, wanted, query)


def check_width(query: SearchQuery) -> None:
    """Refuse a width that is none, or so wide that everything is near.

    Raises:
        FieldRefused: the width is off.
    """
    if not 0 < query.within_cents <= WIDEST_CENTS:
        raise FieldRefused(
            "within",
            f"Search within more than 0 and up to {WIDEST_CENTS:g} cents of the target.",
        )


def _read(
    session: Session, query: SearchQuery, instrument: Instrument | None, names: NoteNames
) -> Target:
    transposition = instrument.transposition if instrument else CONCERT
    tuning = instrument.tuning if instrument else USUAL_TUNING
    try:
        request = parse_pitch(
            query.text,
            names=names,
            system=find_preferences(session).accidentals,
            in_hand=query.in_hand,
        )
        written = resolve_written(request, transposition=transposition, tuning=tuning)
    except AnalysisError as error:
        raise refuse_text("q", error) from error
    if instrument is not None:
        refuse_below_range(written, instrument, names, field="q")
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
    if query.is_measured_only:
        wanted.append(Fingering.take_count > 0)
    if query.is_choice_only:
        mine = select(Choice.fingering_id).where(Choice.role == Role.MINE.value)
        wanted.append(Fingering.id.in_(mine))
    return wanted


def _list_all(
    session: Session,
    instrument: Instrument | None,
    wanted: list[ColumnElement[bool]],
    query: SearchQuery,
) -> SearchResult:
    order = (Fingering.sounding_cents, Fingering.id)
    rows, count = turn_to(session, wanted, order, query.hits_on_a_page, query.before_count)
    hits = tuple(Hit(row) for row in rows)
    return SearchResult(instrument, None, hits, count, query.before_count)


def _find(
    session: Session,
    instrument: Instrument | None,
    target: Target,
    wanted: list[ColumnElement[bool]],
    query: SearchQuery,
) -> SearchResult:
    instruments = [instrument] if instrument else _list_instruments(session)
    look = Look((target.sounding,), query.within_cents, is_brief=True)
    # which instruments it is about is said by the look, in parts that an index can follow
    narrowed = _filters(replace(query, instrument_id=None))
    judges = read_judges(session, instruments, narrowed, look)
    answers = {
        each.id: judges[each.id].answer(
            _written_on(each, target, is_own=instrument is not None),
            width_cents=query.within_cents,
            is_choice_only=query.is_choice_only,
        )
        for each in instruments
    }
    ranked = _merge(answers, Part.RANKED)
    page = _judged(ranked[query.before_count : query.before_count + query.hits_on_a_page])
    history, silent = (_judged(_merge(answers, part)) for part in (Part.HISTORY, Part.SILENT))
    rows = load_rows(session, [*page, *history, *silent])
    cents = target.sounding.cents
    below, above = load_nearest(session, wanted, cents) if not ranked else ((), ())
    around = _around(session, instrument, target.written) if instrument else _Around()
    return SearchResult(
        instrument,
        target,
        _hits(rows, page),
        len(ranked),
        query.before_count,
        _hits(rows, history),
        _hits(rows, silent),
        _judge_nearest(answers, below),
        _judge_nearest(answers, above),
        around.below,
        around.above,
        around.to_try,
        answers,
    )


@dataclass(frozen=True, slots=True)
class _Around:
    """What is ordinary on both sides of a note, and what is to try for it above all that."""

    below: StartingPoint | None = None
    above: StartingPoint | None = None
    to_try: tuple[StartingPoint, ...] = ()


def _around(session: Session, instrument: Instrument, written: WrittenPitch) -> _Around:
    own = own_ordinary(session, instrument)
    return _Around(
        *neighbour_bases(instrument, written, own), bases_to_try(instrument, written, own)
    )


def _list_instruments(session: Session) -> Sequence[Instrument]:
    query = select(Instrument).where(Instrument.deleted_at.is_(None)).order_by(Instrument.id)
    return session.scalars(query).all()


def _written_on(instrument: Instrument, target: Target, *, is_own: bool) -> WrittenPitch:
    if is_own:
        return target.written
    return WrittenPitch.from_cents(target.written.cents - instrument.transposition.cents)


def _merge(answers: Mapping[int, NoteAnswer], part: Part) -> list[tuple[NoteAnswer, int]]:
    """Bring what several instruments have for one sound into one order: answers with a place."""
    if len(answers) == 1:
        (only,) = answers.values()
        return [(only, place) for place in only.order(part)]
    every = [
        (merit, answer, place)
        for answer in answers.values()
        for merit, place in zip(answer.merits(part), answer.order(part), strict=True)
    ]
    every.sort(key=itemgetter(0))
    return [(answer, place) for _, answer, place in every]


def _judged(places: Iterable[tuple[NoteAnswer, int]]) -> list[Judged]:
    return [answer.judged(place) for answer, place in places]


def _hits(rows: Mapping[int, Fingering], judged: Sequence[Judged]) -> tuple[Hit, ...]:
    return tuple(Hit(rows[each.facts.fingering_id], each) for each in judged)


def _judge_nearest(answers: Mapping[int, NoteAnswer], rows: Iterable[Fingering]) -> tuple[Hit, ...]:
    return tuple(Hit(row, judge(facts_of(row), answers[row.instrument_id].note)) for row in rows)
