"""Trills and tremolos between two notes: pairs of fingerings, the most playable first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import TYPE_CHECKING

from analysis.finder.inputs import DEFAULT_TOLERANCE_CENTS
from analysis.keywork import format_fingering
from analysis.pitch import NoteNames, WrittenPitch
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence, model_of
from webapp.notebook.finder.known_choices import (
    KnownChoice,
    list_known,
    list_ordinary_choices,
    to_playable,
    to_unpredicted,
)
from webapp.notebook.loops.figures import LoopFigure, load_figures
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.note_refusals import refuse_text
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import PATIENCE_S, Failed, ResultCache, Working
from webapp.notebook.store.rows import Instrument, LoopPair
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.standing import Judged

if TYPE_CHECKING:
    from analysis.finder import PlayerModel
    from analysis.planning import RankedPair

MOST_PAIRS = 8


@dataclass(frozen=True, slots=True)
class TrillPage:
    """Pairs for a trill or tremolo: none yet while `working`, only what is known where `failed`.

    `judged` says how the logged ones of them stand to their notes, by the numbers of fingerings.
    """

    instrument: Instrument
    lower: WrittenPitch
    upper: WrittenPitch
    evidence: Evidence
    judged: Mapping[int, Judged]
    pairs: tuple[RankedPair, ...] = ()
    log_count: int = 0
    working: Working | None = None
    failed: Failed | None = None
    figures: Mapping[LoopPair, LoopFigure] = field(default_factory=dict)

    def find_figure(self, pair: RankedPair) -> LoopFigure | None:
        """Return what recorded loops of a pair say; None where there is none."""
        low, high = (format_fingering(each.fingering) for each in (pair.lower, pair.upper))
        return self.figures.get(LoopPair.of((self.lower, low), (self.upper, high)))

    @property
    def interval_cents(self) -> float:
        """How far the two notes are apart."""
        return float(self.upper.cents - self.lower.cents)


def open_trill(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    first: str,
    second: str,
    *,
    names: NoteNames,
    patience_s: float = PATIENCE_S,
) -> TrillPage:
    """Find fingerings for a trill or tremolo between two notes, typed in either order.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a note can't be read, both are the same, or they lie too far apart.
    """
    from analysis.planning import TRILL_TOLERANCE_CENTS, NoTrill, check_interval

    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        writing = find_preferences(session)
        system = writing.accidentals
        one = read_target(first, instrument, names, field="q", system=system)
        other = read_target(second, instrument, names, field="to", system=system, in_hand=one)
        lower, upper = sorted((one, other), key=lambda written: written.cents)
        try:
            check_interval(lower, upper)
        except NoTrill as error:
            raise refuse_text("to", error) from error
        judge = read_judge_of(session, instrument, (lower, upper))
        usual, wider = judge.tolerance_cents, max(judge.tolerance_cents, TRILL_TOLERANCE_CENTS)
        below = list_known(judge.answer(lower), instrument)
        above = list_known(judge.answer(upper, usual_cents=wider), instrument)
        evidence = collect_evidence(session, instrument)
        figures = load_figures(session, instrument_id)
    judged = {each.judged.facts.fingering_id: each.judged for each in (*below, *above)}
    page = TrillPage(instrument, lower, upper, evidence, judged, figures=figures)
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=patience_s)
    if isinstance(outcome, Working):
        return replace(page, working=outcome)
    if isinstance(outcome, Failed):
        return replace(page, failed=outcome, pairs=_find_known(page, below, above, usual))
    pairs = _find(page, outcome.value, below, above, usual)
    return replace(page, pairs=pairs, log_count=outcome.value.log_count)


def _find_known(
    page: TrillPage,
    below: Sequence[KnownChoice],
    above: Sequence[KnownChoice],
    tolerance_cents: float,
) -> tuple[RankedPair, ...]:
    """Join what is known, where nothing can be predicted: the player's own and ordinary ones."""
    from analysis.planning import TRILL_TOLERANCE_CENTS, load_motion_table, rank_pairs

    instrument, own = page.instrument, page.evidence.own
    wider = max(tolerance_cents, TRILL_TOLERANCE_CENTS)
    lows, highs = (
        to_unpredicted(known, list_ordinary_choices(instrument, written, own), cents)
        for known, written, cents in (
            (below, page.lower, tolerance_cents),
            (above, page.upper, wider),
        )
    )
    table = load_motion_table(instrument.kind_id, instrument.layout)
    return rank_pairs(table, page.lower, page.upper, list(product(lows, highs)))[:MOST_PAIRS]


def _find(
    page: TrillPage,
    model: PlayerModel,
    below: Sequence[KnownChoice],
    above: Sequence[KnownChoice],
    tolerance_cents: float = DEFAULT_TOLERANCE_CENTS,
) -> tuple[RankedPair, ...]:
    from analysis.planning import TRILL_TOLERANCE_CENTS, find_trills

    wider = max(tolerance_cents, TRILL_TOLERANCE_CENTS)
    return find_trills(
        page.lower,
        page.upper,
        model=model,
        known_lower=to_playable(model, page.lower, below, tolerance_cents),
        known_upper=to_playable(model, page.upper, above, wider),
        starts=page.evidence.starts,
        tolerance_cents=tolerance_cents,
        count=MOST_PAIRS,
    )
