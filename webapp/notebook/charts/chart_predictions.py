"""Predictions on a chart for open steps: one prediction each, never taken for a measurement.

A suggestion that waits on the try list goes first, with what was predicted when it was taken up;
else it is the first try of the plan for the range.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.orm import contains_eager

from analysis.errors import AnalysisError
from analysis.finder.results import Plan, PlannedTry
from analysis.keywork import KeyStates
from webapp.notebook.charts.charts import ChartChoice
from webapp.notebook.charts.pdf import ChartEntry, ChartPrediction
from webapp.notebook.finder.plans import PlanOrder, open_plan
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Failed,
    Outcome,
    Ready,
    ResultCache,
    Working,
)
from webapp.notebook.store.rows import Instrument, Suggestion, TryState


def predict_open_steps(
    notebook: Notebook,
    result_cache: ResultCache,
    choice: ChartChoice,
    *,
    writing: Writing,
    patience_s: float = PATIENCE_S,
) -> Outcome[tuple[ChartEntry, ...]]:
    """Find an entry for each step of the chosen range and grid that no measurement closes.

    Steps for which nothing is known within reach, and those beyond the choice's filters, are left
    out.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: an end of the range can't be read, or the range holds nothing or too much.
    """
    order = PlanOrder(
        choice.predicted_steps,
        choice.low,
        choice.high,
        writing.tolerance_cents,
        writing.accidentals,
    )
    page = open_plan(
        notebook,
        result_cache,
        choice.instrument_id,
        order,
        names=writing.names,
        patience_s=patience_s,
    )
    if page.failed is not None:
        return Failed(page.failed.reason)
    if page.plan is None:
        return page.working or Working(0.0)
    waiting = _find_waiting(notebook, page.instrument)
    entries = _choose(page.plan, waiting)
    return Ready(tuple(entry for entry in entries if _is_chosen(entry, choice)))


def _choose(plan: Plan, waiting: Mapping[Fraction, ChartEntry]) -> list[ChartEntry]:
    planned = {each.written.cents: _of_try(each) for each in reversed(plan.tries)}
    chosen = {**planned, **waiting}
    gaps = sorted(gap.cents for gap in (*plan.predicted, *plan.open))
    return [chosen[gap] for gap in gaps if gap in chosen]


def _of_try(planned: PlannedTry) -> ChartEntry:
    suggestion = planned.suggestion
    return ChartEntry(
        written=planned.written,
        fingering=suggestion.fingering,
        base=suggestion.base.fingering,
        strategy=suggestion.strategy.words,
        prediction=ChartPrediction(suggestion.offset_cents, suggestion.sigma_cents),
    )


def _find_waiting(notebook: Notebook, instrument: Instrument) -> dict[Fraction, ChartEntry]:
    """Find the oldest waiting try by its target's cents; unreadable rows are left out."""
    query = (
        select(Suggestion)
        .join(Suggestion.instrument)
        .where(
            Suggestion.instrument_id == instrument.id,
            Suggestion.state == TryState.WAITING.value,
        )
        .options(contains_eager(Suggestion.instrument))
        .order_by(Suggestion.id.desc())
    )
    with notebook.database.reading() as session:
        rows = list(session.scalars(query))
    found: dict[Fraction, ChartEntry] = {}
    for row in rows:
        try:
            found[row.written.cents] = _of_row(row, row.key_states(), row.base_key_states())
        except AnalysisError:
            continue
    return found


def _of_row(row: Suggestion, keys: KeyStates, base: KeyStates | None) -> ChartEntry:
    return ChartEntry(
        written=row.written,
        fingering=keys,
        base=base,
        strategy=row.strategy_words,
        notes="On the try list.",
        prediction=ChartPrediction(row.predicted_offset_cents, row.predicted_sigma_cents),
    )


def _is_chosen(entry: ChartEntry, choice: ChartChoice) -> bool:
    if choice.is_without_half_holes and entry.fingering.has_half_hole:
        return False
    return choice.strategy is None or entry.strategy == choice.strategy.words
