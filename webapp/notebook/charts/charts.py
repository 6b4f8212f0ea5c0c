"""Make a personal chart of one instrument as PDF."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from sqlalchemy import ColumnElement, SQLColumnExpression, func, select
from sqlalchemy.orm import Session, selectinload

from analysis.finder import Strategy
from analysis.keywork import parse_fingering
from analysis.pitch import NoteNames
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec, Paper, render_chart
from webapp.notebook.fingerings.fingerings import read_range_end
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take

ENTRY_LIMIT = 1500


class ChartOrder(StrEnum):
    """How the entries of a chart are sorted."""

    RISING = "rising"
    FALLING = "falling"
    NEWEST = "newest"


@dataclass(frozen=True, slots=True)
class ChartChoice:
    """What the player wants on the chart; range ends are text as typed, empty for open."""

    instrument_id: int
    title: str = ""
    paper: Paper = Paper.A4
    order: ChartOrder = ChartOrder.RISING
    lowest: str = ""
    highest: str = ""
    strategy: Strategy | None = None
    highest_resistance: int | None = None
    is_proven_only: bool = False
    is_without_half_holes: bool = False
    is_best_only: bool = False
    has_failures: bool = False
    # steps of the octave whose open ones get a prediction; 0 for none
    predicted_steps: int = 0


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
    """Print the chosen fingerings of one instrument.

    `predicted` are entries for open steps, from `chart_predictions`; they stand in their place by
    pitch, or last where the newest come first.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a range end cannot be read, the range is upside down, or it holds too much.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, choice.instrument_id)
        wanted = _filters(choice, instrument, writing.names)
        rows = list(
            session.scalars(
                select(Fingering)
                .where(*wanted)
                .options(selectinload(Fingering.tag_rows))
                .order_by(*_order(choice.order))
                .limit(ENTRY_LIMIT + 1)
            )
        )
        as_of = _last_change(session, instrument)
    if len(rows) + len(predicted) > ENTRY_LIMIT:
        raise FieldRefused(
            "highest",
            f"More than {ENTRY_LIMIT} fingerings fit this choice. "
            "Choose a smaller range or more filters.",
        )
    if choice.is_best_only:
        rows = _best_of_each(rows)
    kind = instrument.kind
    entries = _merge([_entry(row, instrument) for row in rows], predicted, choice.order)
    spec = ChartSpec(
        title=choice.title.strip() or f"Fingerings for {instrument.name}",
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
    return Chart(render_chart(spec), f"fingering-chart-{instrument.id}.pdf", len(entries))


def _merge(
    logged: Sequence[ChartEntry], predicted: Sequence[ChartEntry], order: ChartOrder
) -> tuple[ChartEntry, ...]:
    together = [*logged, *predicted]
    if order is not ChartOrder.NEWEST:
        # Sorting is stable: what is logged for a note stands before what is predicted for it.
        sign = -1 if order is ChartOrder.FALLING else 1
        together.sort(key=lambda entry: sign * entry.written.cents)
    return tuple(together)


def _filters(
    choice: ChartChoice, instrument: Instrument, names: NoteNames
) -> list[ColumnElement[bool]]:
    wanted: list[ColumnElement[bool]] = [
        Fingering.instrument_id == instrument.id,
        Fingering.deleted_at.is_(None),
    ]
    lowest = read_range_end(choice.lowest, instrument, names, field="lowest")
    highest = read_range_end(choice.highest, instrument, names, field="highest")
    if lowest is not None and highest is not None and lowest.cents > highest.cents:
        raise FieldRefused("highest", "The upper end of the range lies below the lower end.")
    if lowest is not None:
        wanted.append(Fingering.written_cents >= float(lowest.cents))
    if highest is not None:
        wanted.append(Fingering.written_cents <= float(highest.cents))
    if choice.strategy is not None:
        wanted.append(Fingering.strategy == choice.strategy.value)
    if choice.highest_resistance is not None:
        wanted.append(Fingering.resistance <= choice.highest_resistance)
    if choice.is_proven_only:
        wanted.append(Fingering.take_count > 0)
    if choice.is_without_half_holes:
        wanted.append(Fingering.has_half_hole.is_(False))
    if not choice.has_failures:
        wanted.append(Fingering.does_not_speak.is_(False))
    return wanted


def _order(order: ChartOrder) -> tuple[SQLColumnExpression[Any], ...]:
    if order is ChartOrder.NEWEST:
        return (Fingering.id.desc(),)
    if order is ChartOrder.FALLING:
        return (Fingering.written_cents.desc(), Fingering.id)
    return (Fingering.written_cents, Fingering.id)


def _best_of_each(rows: list[Fingering]) -> list[Fingering]:
    """Keep one fingering a target: one that speaks, proven, without half-hole, nearest, freest."""
    best: dict[str, Fingering] = {}
    for row in rows:
        held = best.get(row.target_text)
        if held is None or _merit(row) < _merit(held):
            best[row.target_text] = row
    return list(best.values())


def _merit(row: Fingering) -> tuple[bool, bool, bool, float, int]:
    return (
        row.does_not_speak,
        not row.is_proven,
        row.has_half_hole,
        abs(row.offset_cents or 0.0),
        row.resistance or 3,
    )


def _last_change(session: Session, instrument: Instrument) -> date:
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


def _entry(row: Fingering, instrument: Instrument) -> ChartEntry:
    base = row.base_keys_text
    return ChartEntry(
        written=row.written,
        fingering=parse_fingering(row.keys_text, instrument.layout),
        base=parse_fingering(base, instrument.layout) if base is not None else None,
        offset_cents=row.offset_cents,
        uncertainty_cents=row.offset_uncertainty_cents,
        take_count=row.take_count,
        resistance=row.resistance,
        strategy=row.strategy_words,
        notes=row.notes,
        tags=row.tags,
        does_not_speak=row.does_not_speak,
    )
