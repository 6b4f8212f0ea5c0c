"""Timbral alternatives for a note: the same pitch, other open holes, another colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from analysis.finder.inputs import Wishes
from analysis.keywork import KeyStates, are_acoustically_equal
from analysis.pitch import NoteNames, WrittenPitch
from analysis.recording import PooledColour
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence, model_of
from webapp.notebook.finder.known_choices import KnownChoice, list_known, list_ordinary_choices
from webapp.notebook.finder.lip_tries import learn_from_takes
from webapp.notebook.finder.suggesting import find_dismissed
from webapp.notebook.fingerings.evenness import measure_brightness
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import PATIENCE_S, Failed, ResultCache, Working
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.standing import Judged, Standing

if TYPE_CHECKING:
    from analysis.finder import ColourAlternative, PlayerModel

MOST_COLOURS = 8


@dataclass(frozen=True, slots=True)
class KnownColour:
    """A fingering of the notebook for the note.

    `colour_db` is how different its colour should be from the usual one, None while that is not
    worked out; `brightness` what its takes show, in partials; `brighter_by` how much more that is
    than the usual one's, None where one of the two has no take.
    """

    keys: KeyStates
    judged: Judged
    brightness: PooledColour | None
    brighter_by: float | None
    colour_db: float | None = None


@dataclass(frozen=True, slots=True)
class ColourPage:
    """Fingerings of other colours; `reference` is how the note is played usually, None if unknown.

    `usual` is its place in the notebook where it is logged.
    """

    instrument: Instrument
    written: WrittenPitch
    evidence: Evidence
    tolerance_cents: float
    reference: KeyStates | None
    usual: Judged | None
    brightness: PooledColour | None
    known: tuple[KnownColour, ...] = ()
    suggested: tuple[ColourAlternative, ...] = ()
    log_count: int = 0
    working: Working | None = None
    failed: Failed | None = None


def open_colours(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    target: str,
    *,
    names: NoteNames,
    patience_s: float = PATIENCE_S,
) -> ColourPage:
    """Find other colours for a note: those of the notebook, then what is predicted.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the note can't be read.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        system = find_preferences(session).accidentals
        written = read_target(target, instrument, names, field="q", system=system)
        answer = read_judge_of(session, instrument, [written]).answer(written)
        evidence = collect_evidence(session, instrument)
        listed = list_known(answer, instrument)
        ids = [each.judged.facts.fingering_id for each in listed]
        brightness = measure_brightness(session, ids)
        dismissed = find_dismissed(session, instrument_id, written)
        known = learn_from_takes(session, instrument)
    page = _lay_out(instrument, written, evidence, listed, brightness)
    page = replace(page, tolerance_cents=answer.note.tolerance_cents)
    if page.reference is None:
        return page
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=patience_s)
    if isinstance(outcome, Working):
        return replace(page, working=outcome)
    if isinstance(outcome, Failed):
        return replace(page, failed=outcome)
    wishes = replace(known, tolerance_cents=page.tolerance_cents, dismissed=dismissed)
    return _predict(page, outcome.value, page.reference, wishes)


def _lay_out(
    instrument: Instrument,
    written: WrittenPitch,
    evidence: Evidence,
    listed: Sequence[KnownChoice],
    brightness: Mapping[int, PooledColour],
) -> ColourPage:
    """Lay out what the notebook has: the usual fingering, and what has other open holes."""
    ordinary = list_ordinary_choices(instrument, written, evidence.own)
    usual = listed[0] if listed else None
    reference = usual.keys if usual else ordinary[0] if ordinary else None
    of_usual = brightness.get(usual.judged.facts.fingering_id) if usual else None
    known = []
    for each in listed[1:]:
        is_other = reference is not None and not are_acoustically_equal(each.keys, reference)
        if is_other and each.judged.standing is not Standing.NEAR:
            own = brightness.get(each.judged.facts.fingering_id)
            more = own.middle - of_usual.middle if own and of_usual else None
            known.append(KnownColour(each.keys, each.judged, own, more))
    return ColourPage(
        instrument,
        written,
        evidence,
        tolerance_cents=0.0,
        reference=reference,
        usual=usual.judged if usual else None,
        brightness=of_usual,
        known=tuple(known),
    )


def _predict(
    page: ColourPage, model: PlayerModel, reference: KeyStates, wishes: Wishes
) -> ColourPage:
    from analysis.finder import find_colour_distances, find_colours

    keys = [each.keys for each in page.known]
    distances = find_colour_distances(model, page.written, reference, keys)
    known = [
        replace(each, colour_db=float(distance))
        for each, distance in zip(page.known, distances, strict=True)
    ]
    known.sort(key=lambda each: -(each.colour_db or 0.0))
    suggested = find_colours(
        page.written,
        model=model,
        reference=reference,
        starts=page.evidence.starts,
        wishes=wishes,
        count=MOST_COLOURS,
    )
    return replace(page, known=tuple(known), suggested=suggested, log_count=model.log_count)
