"""Fingered passage: the best fingering for each note, what else there is, what is awkward.

The search itself is `analysis.planning`; here a part's notes get their options by the judge
(`passage_options`), what the player has fixed gets its place, and what comes out gets words.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from threading import Lock

from sqlalchemy.orm import Session

from analysis.planning import (
    Emphasis,
    Passage,
    PassageNote,
    PassageState,
    PassageWeights,
    finger_passage,
)
from analysis.score import ScorePart
from webapp.notebook.loops.figures import find_way_times, load_figures
from webapp.notebook.pieces.awkward import find_awkward, find_measured
from webapp.notebook.pieces.decisions import Decisions, find_fixed
from webapp.notebook.pieces.moving import MoveCosts
from webapp.notebook.pieces.needs import collect_needs
from webapp.notebook.pieces.passage_notes import Stretch, TimedNote, list_timed
from webapp.notebook.pieces.passage_options import NoteOptions, OptionFinder, Predict
from webapp.notebook.pieces.passage_steps import Alternative, FingeredPassage, FingeredStep
from webapp.notebook.pieces.softness import SOFT
from webapp.notebook.store.rows import Circumstance, Instrument

FAST_S = 0.15
LOUD = frozenset({"f", "ff", "fff", "ffff"})
_AT_THE_TABLE = Lock()  # one passage at a time: the table forgets when it is full


@dataclass(frozen=True, slots=True)
class FingeringWishes:
    """Conditions that a passage is fingered under: the switch, decisions, predictions."""

    emphasis: Emphasis = Emphasis.SAFEST
    decisions: Decisions = field(default_factory=Decisions)
    predict: Predict | None = None


def finger_bars(
    session: Session,
    instrument: Instrument,
    part: ScorePart,
    stretch: Stretch,
    wishes: FingeringWishes | None = None,
) -> FingeredPassage:
    """Find the fingerings of a stretch of a part on an instrument, within a transaction."""
    wishes = wishes or FingeringWishes()
    timed = list_timed(part, instrument.transposition, stretch)
    pitches = {each.written.cents: each.written for each in timed}
    pitches |= {each.second.cents: each.second for each in timed if each.second is not None}
    needs = collect_needs(part, instrument.transposition)
    finder = OptionFinder(
        session, instrument, needs, list(pitches.values()), wishes.decisions, wishes.predict
    )
    places = [_place(each, part, finder, wishes.decisions) for each in timed]
    times_s = find_way_times(instrument, load_figures(session, instrument.id))
    with _AT_THE_TABLE:
        move = MoveCosts(instrument.kind_id, instrument.layout, times_s)
        fingered, cost = _search(places, part, move, wishes.emphasis)
        awkward, measured = find_awkward(fingered, move), find_measured(fingered, move)
    return FingeredPassage(
        instrument, part, stretch, wishes.emphasis, tuple(fingered), awkward, measured,
        cost,
        finder.is_asking,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Place:
    """A note with its options, and the place of what is fixed among them."""

    step: FingeredStep
    options: NoteOptions
    partners: NoteOptions | None
    fixed_at: int | None


def _place(timed: TimedNote, part: ScorePart, finder: OptionFinder, decisions: Decisions) -> _Place:
    circumstances = _find_circumstances(timed)
    options = finder.find(timed.written, circumstances)
    partners = None if timed.second is None else finder.find(timed.second, circumstances)
    note = timed.note
    here = (note.bar, note.onset, timed.before, timed.after)
    fixed = find_fixed(decisions.fixed_for(timed.written), here)
    fixed_at = None
    if fixed is not None:
        held = finder.find_fixed(timed.written, fixed)
        if held is None:
            fixed = None
        else:
            fixed_at = options.find(held.option.fingering)
            if fixed_at is None:
                options = NoteOptions((*options.every, held), options.tolerance_cents)
                fixed_at = len(options.every) - 1
    label = part.bars[note.bar].label or f"({note.bar + 1})"
    return _Place(FingeredStep(timed, label, fixed=fixed), options, partners, fixed_at)


def _find_circumstances(timed: TimedNote) -> frozenset[Circumstance]:
    found = {
        Circumstance.SOFT: timed.note.dynamic in SOFT,
        Circumstance.LOUD: timed.note.dynamic in LOUD,
        Circumstance.FAST: timed.length_s < FAST_S,
        Circumstance.TRILL: timed.second is not None,
    }
    return frozenset(each for each, holds in found.items() if holds)


def _search(
    places: Sequence[_Place], part: ScorePart, move: MoveCosts, emphasis: Emphasis
) -> tuple[list[FingeredStep], float]:
    """Search the best fingerings; open notes have none, and the way goes on behind them."""
    played = [at for at, place in enumerate(places) if place.options.every]
    notes = tuple(_to_passage_note(places, at) for at in played)
    number = {places[at].step.timed.note.index: here for here, at in enumerate(played)}
    seams = tuple(
        (number[seam.from_note], number[seam.to_note])
        for seam in part.seams
        if seam.from_note in number and seam.to_note in number
    )
    fixed = {
        here: held for here, at in enumerate(played) if (held := places[at].fixed_at) is not None
    }
    move.prepare(notes)
    weights = PassageWeights.of(emphasis)
    path = finger_passage(Passage(notes, seams, fixed), move.grid, weights)
    steps = [place.step for place in places]
    for here, at in enumerate(played):
        state = notes[here].states[path.states[here]]
        harder = [float("inf")] * len(notes[here].options)
        for each, cost in zip(notes[here].states, path.insisting[here], strict=True):
            harder[each.option] = min(harder[each.option], float(cost))
        way_cost = path.crossings[here] / weights.motion if here < len(path.crossings) else 0.0
        steps[at] = _fill(places[at], state, harder, way_cost)
    return steps, path.cost


def _to_passage_note(places: Sequence[_Place], at: int) -> PassageNote:
    place = places[at]
    timed, partners = place.step.timed, place.partners
    is_after_open = at > 0 and not places[at - 1].options.every
    return PassageNote(
        options=place.options.plain,
        length_s=timed.length_s,
        gap_s=timed.gap_s,
        tolerance_cents=place.options.tolerance_cents,
        is_slurred=timed.note.is_slurred and not is_after_open,
        is_soft=timed.note.dynamic in SOFT,
        partners=partners.plain if partners else (),
    )


def _fill(
    place: _Place, state: PassageState, harder: Sequence[float], way_cost: float
) -> FingeredStep:
    every = place.options.every
    others = [
        Alternative(each, cost)
        for at, (each, cost) in enumerate(zip(every, harder, strict=True))
        if at != state.option
    ]
    partner = None
    if place.partners is not None and state.partner is not None:
        partner = place.partners.every[state.partner]
    return replace(
        place.step,
        option=every[state.option],
        partner=partner,
        alternatives=tuple(sorted(others, key=lambda each: each.harder)),
        way_cost=way_cost,
    )
