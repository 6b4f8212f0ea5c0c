"""The concert of a piece as it is opened: pages, sheet, warm-up, and what a change would mean."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from sqlalchemy.orm import Session

from analysis.score import TempoAnswer
from webapp.notebook.concert.risks import RiskyNote, list_risks
from webapp.notebook.concert.tuning import (
    HIGHEST_A_HZ,
    LOWEST_A_HZ,
    NewTuning,
    find_new_tuning,
)
from webapp.notebook.own_pages.opening import OwnPagesView, load_own_pages
from webapp.notebook.pieces.answering import FASTEST, SLOWEST, read_figure
from webapp.notebook.pieces.needs import read_part_for
from webapp.notebook.pieces.originals import load_transcript
from webapp.notebook.pieces.sheet import Judgement, SheetPlace, list_sheet_places
from webapp.notebook.pieces.todo import PieceTodo, TodoNote, judge_part
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Piece


@dataclass(frozen=True, slots=True)
class Conditions:
    """Conditions other than at home, as they were typed: '' is as it is."""

    a_hz: str = ""
    beats: str = ""


@dataclass(frozen=True, slots=True)
class PacedNote:
    """A note that the new tempo asks otherwise: how it stands now, and how it does then."""

    before: TodoNote
    after: TodoNote


@dataclass(frozen=True, slots=True)
class NewTempo:
    """Effects of another tempo, in quarter notes a minute."""

    beats: Fraction
    notes: tuple[PacedNote, ...]


@dataclass(frozen=True, slots=True)
class ConcertView:
    """The day of a piece: its pages, its sheet bar by bar, what to warm up with.

    `tunings` and `tempos` say what changes under the conditions, one for each instrument.
    """

    own: OwnPagesView
    bars: tuple[tuple[str, tuple[SheetPlace, ...]], ...]
    risks: tuple[RiskyNote, ...]
    tunings: tuple[NewTuning, ...]
    tempos: tuple[NewTempo, ...]


def open_concert(
    notebook: Notebook,
    piece_id: int,
    instrument_id: int | None = None,
    conditions: Conditions | None = None,
) -> ConcertView:
    """Return all that a piece needs on the day of its concert.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: no instrument is left, or a condition is no such figure.
    """
    conditions = conditions or Conditions()
    a_hz, beats = _read_conditions(conditions)
    with notebook.database.reading() as session:
        own = load_own_pages(session, notebook, fetch(session, Piece, piece_id), instrument_id)
        todos = [todo for todo, _ in own.judgements]
        tempos: tuple[NewTempo, ...] = ()
        if beats is not None and not own.original.is_paper:
            tempos = tuple(
                _pace(session, notebook, own, judgement, beats) for judgement in own.judgements
            )
    places = list_sheet_places(own.judgements)
    by_bar = groupby(places, key=lambda each: (each.note.bar, each.bar_label))
    return ConcertView(
        own=own,
        bars=tuple((label, tuple(_first_of_each(here))) for (_, label), here in by_bar),
        risks=list_risks(
            [(todo.instrument, todo.notes) for todo in todos],
            has_lengths=not own.original.is_paper,
        ),
        tunings=()
        if a_hz is None
        else tuple(find_new_tuning(each.instrument, each.notes, a_hz) for each in todos),
        tempos=tempos,
    )


def _first_of_each(places: Iterable[SheetPlace]) -> list[SheetPlace]:
    """Leave out what is the same again in a bar."""
    found: dict[tuple[object, ...], SheetPlace] = {}
    for each in places:
        found.setdefault((each.instrument.id, each.pitches, each.keys_text, each.is_second), each)
    return list(found.values())


def _read_conditions(conditions: Conditions) -> tuple[float | None, Fraction | None]:
    a_hz = _read(conditions.a_hz, "a_hz", LOWEST_A_HZ, HIGHEST_A_HZ, "Hz, such as 443")
    beats = _read(conditions.beats, "beats", SLOWEST, FASTEST, "quarter notes a minute, such as 72")
    return None if a_hz is None else float(a_hz), beats


def _read(typed: str, field: str, low: float, high: float, what: str) -> Fraction | None:
    text = typed.strip()
    if not text:
        return None
    figure = read_figure(text)
    if figure is None or not low <= figure <= high:
        raise FieldRefused(field, f"Give from {low:g} to {high:g} {what}.")
    return figure


def _pace(
    session: Session,
    notebook: Notebook,
    own: OwnPagesView,
    judgement: Judgement,
    beats: Fraction,
) -> NewTempo:
    before, decisions = judgement
    settings = before.part.settings
    others = tuple(each for each in settings.tempos if each.bar != 0)
    settings = replace(settings, tempos=(TempoAnswer(0, beats), *others))
    transcript = load_transcript(session, notebook, own.original)
    part = read_part_for(transcript, settings, before.instrument.transposition)
    return NewTempo(
        beats, _compare(before, judge_part(session, before.instrument, part, decisions))
    )


def _compare(before: PieceTodo, after: PieceTodo) -> tuple[PacedNote, ...]:
    """Return the notes that are asked or answered otherwise, in the order of the part."""
    notes: Mapping[Fraction, TodoNote] = {each.need.written.cents: each for each in before.notes}
    changed = [
        PacedNote(notes[each.need.written.cents], each)
        for each in after.notes
        if each.need.written.cents in notes
        and _facts(each) != _facts(notes[each.need.written.cents])
    ]
    return tuple(sorted(changed, key=lambda each: each.after.need.bars))


def _facts(note: TodoNote) -> tuple[object, ...]:
    best = None if note.best is None else note.best.facts.fingering_id
    return note.answer.note.tolerance_cents, note.is_solved, note.standing_words, best
