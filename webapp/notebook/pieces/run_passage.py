"""Passage of a piece for a run-through: its notes on an instrument, each with its held figure.

What is fixed for a place comes before the judge's best, as on the sheet. Where a fingering is
measured, its held figure is where the note is expected to sound.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from analysis.performance import ExpectedNote, ExpectedPassage
from analysis.pitch import WrittenPitch
from analysis.score import ScorePart
from webapp.notebook.pieces.decisions import Decisions, find_fixed
from webapp.notebook.pieces.passage_notes import Stretch, TimedNote, check_tempo, list_timed
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import Judge, read_judge_of

MOST_NOTES = 1_000


@dataclass(frozen=True, slots=True)
class HeldFigure:
    """Figure of the fingering for a place when held: cents from its note, with uncertainty.

    The cents are None where it is not measured, the number where there is none.
    """

    fingering_id: int | None = None
    cents: float | None = None
    uncertainty_cents: float | None = None


@dataclass(frozen=True, slots=True)
class NoteToPlay:
    """A note of a passage in time, the printed number of its bar, and its held figure."""

    timed: TimedNote
    bar_label: str
    held: HeldFigure


def load_notes(
    session: Session,
    instrument: Instrument,
    part: ScorePart,
    decisions: Decisions,
    stretch: Stretch,
) -> tuple[NoteToPlay, ...]:
    """Return the notes of a passage that are for an instrument, in their order.

    Raises:
        FieldRefused: there are no such bars, no note of them is for the instrument, there are too
            many, or the tempo cannot be played.
    """
    if stretch.quarters_per_minute is None:
        raise FieldRefused("tempo", "Say the tempo that you play, such as 72.")
    check_tempo(stretch.quarters_per_minute)
    if not 0 <= stretch.first_bar <= stretch.last_bar < len(part.bars):
        raise FieldRefused("last_bar", "The last bar comes before the first. Choose them again.")
    timed = list_timed(part, instrument.transposition, stretch)
    if not timed:
        raise FieldRefused("first_bar", "No single note of these bars is for this instrument.")
    if len(timed) > MOST_NOTES:
        raise FieldRefused(
            "last_bar", f"These are {len(timed)} notes. Play at most {MOST_NOTES} at a time."
        )
    judge = read_judge_of(session, instrument, [each.written for each in timed])
    best = {each.written: _find_best(judge, each.written) for each in timed}
    return tuple(
        NoteToPlay(
            each,
            part.bars[each.note.bar].label or f"({each.note.bar + 1})",
            _find_fixed(each, decisions, instrument) or best[each.written],
        )
        for each in timed
    )


def _find_fixed(
    timed: TimedNote, decisions: Decisions, instrument: Instrument
) -> HeldFigure | None:
    """Return the figure of what the player fixed for a place."""
    here = (timed.note.bar, timed.note.onset, timed.before, timed.after)
    fixed = find_fixed(decisions.fixed_for(timed.written), here)
    if fixed is None:
        return None
    row = fixed.fingering
    if not row.is_measured:
        return HeldFigure(row.id)
    away = row.sounding_cents - instrument.transposition.to_sounding(timed.written).cents
    return HeldFigure(row.id, away, row.offset_uncertainty_cents)


def _find_best(judge: Judge, written: WrittenPitch) -> HeldFigure:
    best = judge.answer(written).best
    if best is None:
        return HeldFigure()
    if best.offset_cents is None:
        return HeldFigure(best.facts.fingering_id)
    return HeldFigure(best.facts.fingering_id, best.offset_cents, best.facts.uncertainty_cents)


def expect(
    notes: Sequence[NoteToPlay], part: ScorePart, instrument: Instrument, stretch: Stretch
) -> ExpectedPassage:
    """Return the passage as it is expected to sound at the tempo wished."""
    assert stretch.quarters_per_minute, "load_notes refuses a passage without a tempo"
    quarter_s = 60.0 / stretch.quarters_per_minute
    places = {each.timed.note.index: place for place, each in enumerate(notes)}
    return ExpectedPassage(
        notes=tuple(_expect_notes(notes, instrument, quarter_s)),
        quarter_s=quarter_s,
        seams=tuple(
            (places[each.from_note], places[each.to_note])
            for each in part.seams
            if each.from_note in places and each.to_note in places
        ),
    )


def _expect_notes(
    notes: Sequence[NoteToPlay], instrument: Instrument, quarter_s: float
) -> Iterator[ExpectedNote]:
    bar, onset = None, 0.0
    sounding = instrument.transposition.to_sounding
    for each in notes:
        timed = each.timed
        yield ExpectedNote(
            height_cents=sounding(timed.written).cents + (each.held.cents or 0.0),
            onset=onset,
            length=0.0 if timed.note.is_grace else timed.length_s / quarter_s,
            other_cents=None if timed.second is None else sounding(timed.second).cents,
            begins_bar=timed.note.bar != bar,
        )
        bar = timed.note.bar
        onset += timed.gap_s / quarter_s
