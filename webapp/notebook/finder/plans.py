"""A plan for a whole range: what is solved, what is predicted, what is open, what to try first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.finder.inputs import Start, Wishes
from analysis.finder.results import Plan
from analysis.pitch import (
    EqualDivision,
    NoteNames,
    Register,
    Side,
    SignSystem,
    WrittenPitch,
    register_of,
)
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence, model_of
from webapp.notebook.finder.lip_tries import learn_from_takes
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Failed,
    Ready,
    Report,
    ResultCache,
    Working,
)
from webapp.notebook.store.rows import Instrument, Suggestion, TryState
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.facts import Look
from webapp.notebook.targets.reading import read_range_end

if TYPE_CHECKING:
    from analysis.finder import PlayerModel

SEMITONE_CENTS = 100
GRIDS = (24, 48)
STEPS_AT_MOST = 200


@dataclass(frozen=True, slots=True)
class PlanOrder:
    """Request for a plan: steps of the octave, and a range as typed (empty: all of it).

    An arrow in what was typed is as large as `system` says.
    """

    steps_per_octave: int = 24
    low: str = ""
    high: str = ""
    tolerance_cents: float = 10.0
    system: SignSystem | None = None


@dataclass(frozen=True, slots=True)
class PlanPage:
    """A plan, or how far its making has come."""

    instrument: Instrument
    evidence: Evidence
    targets: tuple[WrittenPitch, ...]
    plan: Plan | None = None
    working: Working | None = None
    failed: Failed | None = None
    # whether the model is there and the range itself is being looked at
    is_planning: bool = False

    def by_register(self) -> tuple[tuple[Register, tuple[WrittenPitch, ...]], ...]:
        """The targets, register by register."""
        kind = self.instrument.kind
        groups = groupby(
            self.targets, key=lambda target: register_of(kind.in_treble_notation(target))
        )
        return tuple((register, tuple(members)) for register, members in groups)


def open_plan(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    order: PlanOrder,
    *,
    names: NoteNames,
    patience_s: float = PATIENCE_S,
) -> PlanPage:
    """Plan a range of an instrument. The ordinary notes themselves are left out.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: an end of the range can't be read, or the range holds nothing or too much.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        targets = choose_targets(instrument, order, names)
        evidence = collect_evidence(session, instrument)
        solved = find_solved(session, instrument, targets)
        dismissed = _find_dismissed(session, instrument_id)
        known = learn_from_takes(session, instrument)
    page = PlanPage(instrument, evidence, targets)
    wishes = replace(known, tolerance_cents=order.tolerance_cents, dismissed=dismissed)
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=patience_s)
    if isinstance(outcome, Ready):
        planning = partial(_plan, outcome.value, targets, evidence.starts, wishes, solved)
        facts = (
            instrument.layout,
            evidence.logs,
            evidence.air_c,
            evidence.warming_cents_per_c,
            evidence.starts,
            targets,
            wishes,
            solved,
        )
        planned = result_cache.ask(("plan", instrument_id), facts, planning, patience_s=patience_s)
        if isinstance(planned, Ready):
            return replace(page, plan=planned.value)
        return replace(_unfinished(page, planned), is_planning=True)
    return _unfinished(page, outcome)


def _unfinished(page: PlanPage, outcome: Working | Failed) -> PlanPage:
    if isinstance(outcome, Working):
        return replace(page, working=outcome)
    return replace(page, failed=outcome)


def _plan(
    model: PlayerModel,
    targets: Sequence[WrittenPitch],
    starts: Sequence[Start],
    wishes: Wishes,
    solved: Sequence[WrittenPitch],
    report: Report,
) -> Plan:
    from analysis.finder import plan_range

    return plan_range(
        targets, model=model, starts=starts, wishes=wishes, solved=solved, report=report
    )


def choose_targets(
    instrument: Instrument, order: PlanOrder, names: NoteNames
) -> tuple[WrittenPitch, ...]:
    """Return the steps of a grid within a range, low to high, without the semitones.

    Raises:
        FieldRefused: an end of the range can't be read, or the range holds nothing or too much.
    """
    if order.steps_per_octave not in GRIDS:
        raise FieldRefused("grid", "Choose quarter tones or eighth tones.")
    read = partial(read_range_end, instrument=instrument, names=names, system=order.system)
    low = read(order.low, field="low") or instrument.lowest
    high = read(order.high, field="high") or instrument.top
    if low.cents >= high.cents:
        raise FieldRefused("high", "The range ends below its beginning. Exchange the two notes.")
    steps = EqualDivision(order.steps_per_octave).between(low, high, Side.NEAREST)
    targets = tuple(step for step in steps if step.cents % SEMITONE_CENTS)
    if not targets:
        raise FieldRefused("high", "No such step lies between these two notes. Widen the range.")
    if len(targets) > STEPS_AT_MOST:
        raise FieldRefused(
            "high",
            f"The range holds {len(targets)} steps; {STEPS_AT_MOST} is the limit. Narrow it.",
        )
    return targets


def find_solved(
    session: Session, instrument: Instrument, targets: Sequence[WrittenPitch]
) -> tuple[WrittenPitch, ...]:
    """Return the targets that are solved on an instrument, as the judge says."""
    judge = read_judge_of(session, instrument, targets, Look(is_brief=True))
    return tuple(target for target in targets if judge.answer(target).is_solved)


def _find_dismissed(session: Session, instrument_id: int) -> frozenset[str]:
    query = select(Suggestion.keys_text).where(
        Suggestion.instrument_id == instrument_id, Suggestion.state == TryState.DISMISSED.value
    )
    return frozenset(session.scalars(query))
