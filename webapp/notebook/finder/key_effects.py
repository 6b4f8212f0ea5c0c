"""Key effects: how each key moves the pitch of one instrument, learned from the player's takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from webapp.notebook.finder.finder_evidence import collect_logs
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Failed,
    Outcome,
    Ready,
    Report,
    ResultCache,
    Working,
)
from webapp.notebook.store.rows import Instrument

if TYPE_CHECKING:
    from analysis.finder import LoggedPitch
    from analysis.finder.results import KeyEffect
    from analysis.keywork import Layout

# Up to this many logged pitches the effects are learned at once, without waiting for other work.
LEARNED_AT_ONCE = 3_000


@dataclass(frozen=True, slots=True)
class KeyEffectsPage:
    """The effects as far as they are there, and how many measured fingerings they come from."""

    instrument: Instrument
    effects: tuple[KeyEffect, ...]
    measured_count: int
    working: Working | None = None
    failed: Failed | None = None


def open_key_effects(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    *,
    patience_s: float = PATIENCE_S,
) -> KeyEffectsPage:
    """Learn the effects of keys from pairs of measured fingerings that differ in one.

    Raises:
        NotInNotebook: no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        logs = collect_logs(session, instrument)
    order = (logs, instrument.layout, instrument.kind_id)
    outcome: Outcome[tuple[KeyEffect, ...]]
    if len(logs) <= LEARNED_AT_ONCE:
        outcome = Ready(_learn(*order))
    else:
        name = ("key effects", instrument_id)
        outcome = result_cache.ask(name, order, partial(_learn, *order), patience_s=patience_s)
    return KeyEffectsPage(
        instrument,
        outcome.value if isinstance(outcome, Ready) else (),
        sum(log.offset_cents is not None for log in logs),
        working=outcome if isinstance(outcome, Working) else None,
        failed=outcome if isinstance(outcome, Failed) else None,
    )


def _learn(
    logs: tuple[LoggedPitch, ...], layout: Layout, kind_id: str, report: Report | None = None
) -> tuple[KeyEffect, ...]:
    from analysis.finder import key_effects

    return key_effects(logs, layout, kind_id=kind_id, progress=report)
