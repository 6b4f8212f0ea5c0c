"""Evidence of one player for the finder: measured pitches, starting points, the player's model.

The model is made from everything measured on one instrument, so each new take asks for a new one;
that is quick, as only the first one has to work out what the tube's measures may do to its pitches.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analysis.day import WARMING_CENTS_PER_C
from analysis.errors import AnalysisError
from analysis.finder.inputs import LoggedPitch, Start
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import WrittenPitch
from analysis.recording import TakeStanding
from webapp.notebook.finder.logged_rows import LEAST_SIGMA_CENTS, LoggedRows, read_logged
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.own_folder import CACHE_FOLDER
from webapp.notebook.store.practices import find_open_practice
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Name,
    Outcome,
    Ready,
    Report,
    ResultCache,
)
from webapp.notebook.store.rows import (
    DismissReason,
    Fingering,
    Instrument,
    Suggestion,
    Take,
    TryState,
    TuningNote,
)
from webapp.notebook.takes.tuning_reference import find_room_warming
from webapp.notebook.targets.bases import OwnOrdinary, listed_bases, own_ordinary

if TYPE_CHECKING:
    from analysis.finder import FinderCache, PlayerModel

_Place = tuple[WrittenPitch, KeyStates]
"""A note and how it is fingered."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What one instrument has shown, and what can be started from."""

    logs: tuple[LoggedPitch, ...]
    starts: tuple[Start, ...]
    # of the ordinary fingerings and those to try; the others go by their numbers
    references: Mapping[_Place, str]
    # how the player plays the notes of the chromatic scale
    own: OwnOrdinary
    # of the room today, where a practice is open that says so
    air_c: float | None = None
    # how far a warmer room raises this instrument, as its practices have shown
    warming_cents_per_c: float = WARMING_CENTS_PER_C

    def reference_of(self, start: Start) -> str:
        """Name a start as forms and addresses do (`services.bases`); empty for a strange one."""
        logged = "" if start.logged_id is None else f"logged:{start.logged_id}"
        return self.references.get((start.written, start.fingering), logged)


def collect_evidence(session: Session, instrument: Instrument) -> Evidence:
    """Gather what is known of an instrument; rows whose keys can't be read count for nothing."""
    logged = read_logged(session, instrument)
    practice = find_open_practice(session, instrument.id, now_utc())
    others = dict(logged.starts)
    own = own_ordinary(session, instrument)
    references: dict[_Place, str] = {}
    starts: list[Start] = []
    for base in (*own.values(), *listed_bases(instrument)):
        place, is_own = (base.written, base.keys), base.fingering_id is not None
        if place not in references and (is_own or base.written.cents not in own):
            references[place] = base.reference
            label = "yours" if is_own else "to try" if base.is_to_try else "ordinary"
            measured = others.pop(logged.place_of(*place), None) or Start(*place)
            starts.append(replace(measured, label=label, is_own_ordinary=is_own))
    starts += others.values()
    air_c = practice.air_temperature_c if practice is not None else None
    # to a tenth, so that not every practice asks for a new model
    warming = find_room_warming(session, instrument.id)
    logs = collect_logs(session, instrument, logged)
    return Evidence(logs, tuple(starts), references, own, air_c, round(warming.cents_per_c, 1))


def collect_logs(
    session: Session, instrument: Instrument, logged: LoggedRows | None = None
) -> tuple[LoggedPitch, ...]:
    """Gather what an instrument has shown alone, with nothing to start from.

    `logged` are its logged fingerings where they were read already.
    """
    logged = logged or read_logged(session, instrument)
    air, silent = _find_air(session, instrument), _found_silent(session, instrument)
    if not air and not silent:
        return logged.logs
    logs = (
        replace(row.log, air_c=air[number]) if number in air else row.log
        for number, row in logged.rows.items()
    )
    return (*logs, *silent)


def model_of(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument: Instrument,
    evidence: Evidence,
    *,
    patience_s: float = PATIENCE_S,
) -> Outcome[PlayerModel]:
    """Return the player's model of an instrument, or how far its making has come."""
    order = _order(instrument, evidence)
    folder = notebook.folder / CACHE_FOLDER
    fit = partial(_fit, *order, folder)
    outcome = result_cache.ask(model_name(instrument.id), order, fit, patience_s=patience_s)
    if isinstance(outcome, Ready):
        look_around = partial(_look_around, outcome.value, evidence.starts, folder)
        result_cache.make_ahead(("ahead", instrument.id), order, look_around)
    return outcome


def model_name(instrument_id: int) -> Name:
    """Name the model of an instrument in the cache of slow results."""
    return "model", instrument_id


def has_model(result_cache: ResultCache, instrument: Instrument, evidence: Evidence) -> bool:
    """Whether the player's model is there already; nothing is begun."""
    return result_cache.has(model_name(instrument.id), _order(instrument, evidence))


def _order(
    instrument: Instrument, evidence: Evidence
) -> tuple[str, Layout, tuple[LoggedPitch, ...], float | None, float]:
    return (
        instrument.kind_id,
        instrument.layout,
        evidence.logs,
        evidence.air_c,
        evidence.warming_cents_per_c,
    )


def _fit(
    kind_id: str,
    layout: Layout,
    logs: tuple[LoggedPitch, ...],
    air_c: float | None,
    warming_cents_per_c: float,
    cache_folder: Path,
    report: Report,
) -> PlayerModel:
    from analysis.finder import PlayerModel

    report(0.0)  # gives way to pages, and ends here if nobody asks any more
    return PlayerModel.fit(
        kind_id,
        layout,
        logs,
        air_c=air_c,
        warming_cents_per_c=warming_cents_per_c,
        cache=_open_cache(cache_folder),
    )


def _look_around(
    model: PlayerModel, starts: tuple[Start, ...], cache_folder: Path, report: Report
) -> None:
    """Compute ahead what lies around ordinary fingerings and the player's own: suggestions are
    quicker then.
    """
    from analysis.finder import prepare

    _open_cache(cache_folder).progress = report
    prepare(model.tube, starts)


@lru_cache(maxsize=1)
def _open_cache(folder: Path) -> FinderCache:
    """Open the cache of the notebook that is served; what it has read stays in memory."""
    from analysis.finder import FinderCache

    return FinderCache(folder)


def _find_air(session: Session, instrument: Instrument) -> dict[int, float]:
    """Find the mean air temperature of each fingering's takes, where some is known.

    Takes of a practice with tuning notes are left aside: the day is taken out of them already.
    """
    is_taken_out = (
        select(TuningNote.id)
        .where(TuningNote.practice_id == Take.practice_id, TuningNote.is_left_out.is_(False))
        .exists()
    )
    query = (
        select(Take.fingering_id, func.avg(Take.air_temperature_c))
        .join(Take.fingering)
        .where(
            Fingering.instrument_id == instrument.id,
            Take.deleted_at.is_(None),
            Take.air_temperature_c.is_not(None),
            Take.standing == TakeStanding.COUNTS.value,
            ~is_taken_out,
        )
        .group_by(Take.fingering_id)
    )
    return {number: float(air_c) for number, air_c in session.execute(query)}


def _found_silent(session: Session, instrument: Instrument) -> list[LoggedPitch]:
    """Read the suggestions that were dismissed because they do not speak: evidence as any other."""
    query = select(Suggestion).where(
        Suggestion.instrument_id == instrument.id,
        Suggestion.state == TryState.DISMISSED.value,
        Suggestion.reason == DismissReason.SILENT.value,
        Suggestion.fingering_id.is_(None),
    )
    found = []
    for row in session.scalars(query.order_by(Suggestion.id)):
        try:
            keys = parse_fingering(row.keys_text, instrument.layout)
        except AnalysisError:
            continue
        found.append(LoggedPitch(keys, row.written, None, LEAST_SIGMA_CENTS))
    return found
