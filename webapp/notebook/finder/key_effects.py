"""Key effects: how each key moves the pitch of one instrument, learned from the player's takes."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.finder.results import KeyEffect
from webapp.notebook.finder.finder_evidence import collect_logs
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument


@dataclass(frozen=True, slots=True)
class KeyEffectsPage:
    """The effects, and how many measured fingerings they come from."""

    instrument: Instrument
    effects: tuple[KeyEffect, ...]
    measured_count: int


def open_key_effects(notebook: Notebook, instrument_id: int) -> KeyEffectsPage:
    """Learn the effects of keys from pairs of measured fingerings that differ in one.

    Raises:
        NotInNotebook: no such instrument.
    """
    from analysis.finder import key_effects

    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        logs = collect_logs(session, instrument)
    measured = sum(log.offset_cents is not None for log in logs)
    effects = key_effects(logs, instrument.layout, kind_id=instrument.kind_id)
    return KeyEffectsPage(instrument, effects, measured)
