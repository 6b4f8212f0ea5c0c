"""Make a personal chart of one instrument as PDF."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, selectinload

from analysis.finder import Strategy
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import WrittenPitch, format_pitch
from webapp.notebook.charts.pdf import AnySpec, ChartEntry, ChartSpec, Paper, StandSpec, render
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.targets.answers import Judge, read_judge
from webapp.notebook.targets.choices import describe_word
from webapp.notebook.targets.merit import rank
from webapp.notebook.targets.reading import read_range_end
from webapp.notebook.targets.search import SearchQuery, narrow_down
from webapp.notebook.targets.standing import Facts, Judged, Standing

ENTRY_LIMIT = 5000
_LONGEST_STEM = 60


class ChartOrder(StrEnum):
    """How the entries of a chart are sorted."""

    RISING = "rising"
    FALLING = "falling"
    NEWEST = "newest"


class ChartKind(StrEnum):
    """What a chart is for."""

    LIST = "list"
    OVERVIEW = "overview"
    STAND = "stand"


_KIND_NAMES = {
    ChartKind.LIST: "fingerings",
    ChartKind.OVERVIEW: "overview",
    ChartKind.STAND: "stand chart",
}


@dataclass(frozen=True, slots=True)
class ChartChoice:
    """What the player wants on the chart; range ends are text as typed, empty for open."""

    instrument_id: int
    kind: ChartKind = ChartKind.LIST
    title: str = ""
    paper: Paper = Paper.A4
    order: ChartOrder = ChartOrder.RISING
    low: str = ""
    high: str = ""
    strategy: Strategy | None = None
    highest_resistance: int | None = None
    is_measured_only: bool = False
    is_choice_only: bool = False
    is_without_half_holes: bool = False
    is_best_only: bool = False
    has_failures: bool = False
    # steps of the octave whose open ones get a prediction; 0 for none
    predicted_steps: int = 0
    # steps of the octave on an overview
    steps: int = 24


@dataclass(frozen=True, slots=True)
class ComposedChart:
    """What a chart of any kind consists of, before it is typeset."""

    spec: AnySpec
    file_name: str
    entry_count: int


@dataclass(frozen=True, slots=True)
class Chart:
    """A finished chart."""

    pdf: bytes
    file_name: str
    entry_count: int


def make_chart(
    notebook: Notebook,
    choice: ChartChoice,
    *,
    writing: Writing,
    predicted: Sequence[ChartEntry] = (),
) -> Chart:
    """Print the chosen fingerings of one instrument; see `compose_chart`."""
    return typeset(compose_chart(notebook, choice, writing=writing, predicted=predicted))


def typeset(composed: ComposedChart) -> Chart:
    """Make the PDF of a chart of any kind."""
    return Chart(render(composed.spec), composed.file_name, composed.entry_count)


def compose_chart(
    notebook: Notebook,
    choice: ChartChoice,
    *,
    writing: Writing,
    predicted: Sequence[ChartEntry] = (),
) -> ComposedChart:
    """Say what a list of the chosen fingerings of one instrument, or its stand chart, consists of.

    `predicted` are entries for open steps, from `chart_predictions`; they stand in their place by
    pitch, or last where the newest come first.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a range end cannot be read, the range is upside down, or it holds too much.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, choice.instrument_id)
        judge = read_judge(session, instrument, filter_rows(choice))
        placed = _place(judge, instrument, choice, writing)
        check_size(len(placed) + len(predicted))
        rows = load_rows(session, [each.judged.facts.fingering_id for each in placed])
        as_of = last_change(session, instrument)
    logged = [
        entry_of(rows[each.judged.facts.fingering_id], each, instrument, judge) for each in placed
    ]
    entries = _merge(logged, predicted, choice.order)
    spec = describe_chart(instrument, choice, entries, as_of, writing)
    is_for_stand = choice.kind is ChartKind.STAND
    name = name_file(instrument, choice, as_of)
    return ComposedChart(StandSpec(spec) if is_for_stand else spec, name, len(entries))


def check_size(count: int) -> None:
    """Refuse a chart of more entries than can be made.

    Raises:
        FieldRefused: the range holds too much.
    """
    if count > ENTRY_LIMIT:
        raise FieldRefused(
            "high",
            f"More than {ENTRY_LIMIT} fingerings fit this choice. "
            "Choose a smaller range or more filters.",
        )


def name_file(instrument: Instrument, choice: ChartChoice, as_of: date) -> str:
    """Name the file after the title or the instrument, the kind of chart, and the day."""
    kind = _KIND_NAMES[choice.kind]
    return name_document(
        choice.title.strip(), f"{instrument.name} {kind}", f"instrument {kind}", as_of=as_of
    )


def name_document(*choices: str, as_of: date) -> str:
    """Name a PDF after the first of some words that can be written in plain letters, and the day.

    Letters beyond ASCII lose their marks or are left out, since not every system keeps them.
    """
    for words in choices:
        plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().lower()
        stem = "-".join(re.findall(r"[a-z0-9]+", plain))[:_LONGEST_STEM].strip("-")
        if stem:
            break
    return f"{stem}-{as_of.isoformat()}.pdf"


def describe_chart(
    instrument: Instrument,
    choice: ChartChoice,
    entries: tuple[ChartEntry, ...],
    as_of: date,
    writing: Writing,
) -> ChartSpec:
    """Say what a chart is of, and how it is written."""
    kind = instrument.kind
    words = "Overview" if choice.kind is ChartKind.OVERVIEW else "Fingerings"
    return ChartSpec(
        title=choice.title.strip() or f"{words} for {instrument.name}",
        instrument_name=instrument.name,
        kind_name=kind.name,
        setup_lines=instrument.setup_lines,
        tuning_a_hz=instrument.tuning_a_hz,
        as_of=as_of,
        entries=entries,
        paper=choice.paper,
        accidental_style=writing.accidentals,
        names=writing.names,
        clef=kind.clef,
        tolerance_cents=writing.tolerance_cents,
    )


def _merge(
    logged: Sequence[ChartEntry], predicted: Sequence[ChartEntry], order: ChartOrder
) -> tuple[ChartEntry, ...]:
    together = [*logged, *predicted]
    if order is not ChartOrder.NEWEST:
        # Sorting is stable: what is logged for a note stands before what is predicted for it.
        sign = -1 if order is ChartOrder.FALLING else 1
        together.sort(key=lambda entry: sign * entry.written.cents)
    return tuple(together)


@dataclass(frozen=True, slots=True)
class Placed:
    """A fingering under the note that it is printed for: where it sounds, if that is elsewhere."""

    written: WrittenPitch
    judged: Judged


def _place(
    judge: Judge, instrument: Instrument, choice: ChartChoice, writing: Writing
) -> list[Placed]:
    """Put what passes the choice under its note, in printing order, the best of a note first."""
    lowest, highest = read_ends(choice, instrument, writing)
    notes: dict[Fraction, tuple[WrittenPitch, list[Facts]]] = {}
    # a fingering stands where it belongs, and under each note that it is the player's own for
    wanted = [*judge.place_all(), *judge.find_choices()]
    for written, facts in wanted:
        is_above = lowest is None or lowest.cents <= written.cents
        if is_above and (highest is None or written.cents <= highest.cents):
            here = notes.setdefault(written.cents, (written, []))[1]
            if facts not in here:
                here.append(facts)
    placed = [
        each
        for written, here in notes.values()
        for each in _choose_for(judge, written, here, choice)
    ]
    if choice.order is ChartOrder.NEWEST:
        placed.sort(key=lambda each: -each.judged.facts.fingering_id)
    else:
        sign = -1 if choice.order is ChartOrder.FALLING else 1
        placed.sort(key=lambda each: sign * each.written.cents)  # stable: the best stays first
    return placed


def _choose_for(
    judge: Judge, written: WrittenPitch, here: list[Facts], choice: ChartChoice
) -> list[Placed]:
    if choice.is_best_only:
        answer = judge.answer(written)
        # where nothing may be played, what was tried and does not speak
        every = (answer.best,) if answer.best else answer.silent[:1]
    else:
        note = judge.note(written)
        every = rank((judge.judge(facts, note) for facts in here), note)
    return [
        Placed(written, each)
        for each in every
        if (choice.has_failures or each.standing is not Standing.SILENT)
        and (each.is_choice or not choice.is_choice_only)
    ]


def read_ends(
    choice: ChartChoice, instrument: Instrument, writing: Writing
) -> tuple[WrittenPitch | None, WrittenPitch | None]:
    """Read the ends of the range; None for one that is open.

    Raises:
        FieldRefused: an end cannot be read, or the range is upside down.
    """
    names, system = writing.names, writing.accidentals
    lowest = read_range_end(choice.low, instrument, names, field="low", system=system)
    highest = read_range_end(choice.high, instrument, names, field="high", system=system)
    if lowest is not None and highest is not None and lowest.cents > highest.cents:
        raise FieldRefused("high", "The upper end of the range lies below the lower end.")
    return lowest, highest


def filter_rows(choice: ChartChoice) -> list[ColumnElement[bool]]:
    """Say what a fingering has to be to stand on a chart."""
    query = SearchQuery(
        strategy=choice.strategy,
        highest_resistance=choice.highest_resistance,
        is_without_half_holes=choice.is_without_half_holes,
        is_measured_only=choice.is_measured_only,
    )
    return narrow_down(query)


def load_rows(session: Session, ids: Sequence[int]) -> dict[int, Fingering]:
    """Load fingerings with their tags, by their numbers."""
    query = select(Fingering).where(Fingering.id.in_(ids)).options(selectinload(Fingering.tag_rows))
    return {row.id: row for row in session.scalars(query)}


def last_change(session: Session, instrument: Instrument) -> date:
    """Return the day of the newest change on this instrument: the same notebook, the same date."""
    fingering = session.scalar(
        select(func.max(Fingering.updated_at)).where(Fingering.instrument_id == instrument.id)
    )
    take = session.scalar(
        select(func.max(Take.created_at))
        .join(Take.fingering)
        .where(Fingering.instrument_id == instrument.id)
    )
    return max(each for each in (instrument.updated_at, fingering, take) if each).date()


def entry_of(row: Fingering, placed: Placed, instrument: Instrument, judge: Judge) -> ChartEntry:
    """Say of a fingering what a chart prints for the note that it stands under."""
    base, layout = row.base_keys_text, instrument.layout
    judged = placed.judged
    is_elsewhere = row.written.cents != placed.written.cents
    logged_for = f"Logged for {format_pitch(row.written)}." if is_elsewhere else ""
    is_same = row.written.canonical == placed.written.canonical  # with the sign it was typed with
    return ChartEntry(
        written=row.written if is_same else placed.written,
        fingering=_read_keys(row.keys_text, layout),
        base=_read_keys(base, layout) if base is not None else None,
        offset_cents=judged.offset_cents,
        uncertainty_cents=row.offset_uncertainty_cents,
        take_count=row.take_count,
        resistance=row.resistance,
        strategy=row.strategy_words,
        notes=" ".join(filter(None, (_word_words(judged), logged_for, row.notes))),
        tags=row.tags,
        does_not_speak=row.does_not_speak,
        tolerance_cents=judge.note(placed.written).tolerance_cents,
    )


@lru_cache(maxsize=4096)
def _read_keys(text: str, layout: Layout) -> KeyStates:
    return parse_fingering(text, layout)


def _word_words(judged: Judged) -> str:
    """Say what the player said of a fingering for its note, as a chart prints it."""
    if judged.word is None:
        return ""
    words = describe_word(judged.word)
    return f"{words[0].upper()}{words[1:]}."
