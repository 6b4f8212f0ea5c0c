"""Passages kept with a piece: chosen by their bars, fingered anew each time, fixed by a touch.

A passage remembers how it was last shown. When the notebook has changed since, the notes that are
fingered otherwise now are marked until the player has seen them; fixed ones stay as they are.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.keywork import check_playable, format_fingering, parse_fingering
from analysis.pitch import format_pitch
from analysis.planning import Emphasis
from analysis.score import ScorePart
from webapp.notebook.fingerings.fingerings import FingeringDraft, keep_fingering
from webapp.notebook.pieces.decisions import FixPlace, fix, load_decisions, load_passages, unfix
from webapp.notebook.pieces.fingered import FingeringWishes
from webapp.notebook.pieces.originals import find_original, read_piece
from webapp.notebook.pieces.passage_notes import (
    Stretch,
    check_tempo,
    list_timed,
    name_stretch,
    read_bars,
)
from webapp.notebook.pieces.passage_steps import FingeredPassage, FingeredStep
from webapp.notebook.pieces.pieces import choose_instrument, load_instruments
from webapp.notebook.pieces.predicting import finger_with_predictions
from webapp.notebook.pieces.shown_passage import (
    PlaceMark,
    find_differences,
    read_shown,
    replace_shown,
    write_shown,
)
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, ResultCache, Working
from webapp.notebook.store.rows import ChosenPassage, Fingering, Instrument, Piece

NOTES_AT_MOST = 200
"""Notes of a passage that a page shows; a whole part is fingered by the command."""


@dataclass(frozen=True, slots=True)
class PassageDraft:
    """A passage as the player chooses it; without a tempo the part's own counts."""

    bars: str
    quarters_per_minute: float | None = None
    emphasis: Emphasis = Emphasis.SAFEST


@dataclass(frozen=True, slots=True)
class PassageSummary:
    """A passage in a list: its row, and its bars by their printed numbers."""

    row: ChosenPassage
    bars: str


@dataclass(frozen=True, slots=True)
class PassagesPage:
    """The passages of a piece on one of its instruments, in the order of bars."""

    piece: Piece
    instrument: Instrument
    instruments: tuple[Instrument, ...]
    part: ScorePart
    passages: tuple[PassageSummary, ...]
    writing: Writing


@dataclass(frozen=True, slots=True)
class PassagePage:
    """A passage as it is fingered now.

    `before` has what was shown last of each note that is fingered otherwise now; `missing` says
    why nothing is predicted yet, where something would be.
    """

    piece: Piece
    instrument: Instrument
    row: ChosenPassage
    bars: str
    passage: FingeredPassage
    before: Mapping[PlaceMark, str]
    missing: Working | Failed | None
    writing: Writing

    @property
    def by_bar(self) -> tuple[tuple[str, tuple[FingeredStep, ...]], ...]:
        """The notes bar by bar, each bar with its printed number."""
        found: dict[int, list[FingeredStep]] = {}
        for step in self.passage.steps:
            found.setdefault(step.timed.note.bar, []).append(step)
        return tuple((steps[0].bar_label, tuple(steps)) for steps in found.values())


def open_passages(notebook: Notebook, piece_id: int, instrument_id: int) -> PassagesPage:
    """Return the passages of a piece on one of its instruments.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        ScoreError: nothing in it can be read under the answers.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        instruments = load_instruments(session, [piece_id]).get(piece_id, ())
        instrument = choose_instrument(session, instruments, instrument_id)
        part = _read(session, notebook, piece, instrument)
        rows = load_passages(session, piece_id, instrument_id)
        passages = tuple(
            PassageSummary(row, name_stretch(part, stretch))
            for row in rows
            if (stretch := _stretch_of(row)).last_bar < len(part.bars)
        )
        writing = find_preferences(session)
        return PassagesPage(piece, instrument, instruments, part, passages, writing)


def _read(session: Session, notebook: Notebook, piece: Piece, instrument: Instrument) -> ScorePart:
    original = find_original(session, piece.id)
    return read_piece(session, notebook, piece, original, instrument.transposition)


def _stretch_of(row: ChosenPassage) -> Stretch:
    return Stretch(row.first_bar, row.last_bar, row.quarters_per_minute)


def choose_passage(
    notebook: Notebook,
    result_cache: ResultCache,
    piece_id: int,
    instrument_id: int,
    draft: PassageDraft,
) -> int:
    """Choose bars of a piece as a passage and return its number; chosen again it is changed.

    How it is fingered now counts as seen, unless it was chosen before.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: there are no such bars, too many notes, none for the instrument, or the tempo
            cannot be played.
    """
    if draft.quarters_per_minute is not None:
        check_tempo(draft.quarters_per_minute)
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        instrument = fetch(session, Instrument, instrument_id)
        part = _read(session, notebook, piece, instrument)
        first, last = read_bars(part, draft.bars)
        stretch = Stretch(first, last, draft.quarters_per_minute)
        count = len(list_timed(part, instrument.transposition, stretch))
        if not 1 <= count <= NOTES_AT_MOST:
            raise FieldRefused(
                "bars",
                f"These bars have {count} notes; choose bars with 1 to {NOTES_AT_MOST}.",
            )
        passage, _ = _finger(
            session, notebook, result_cache, instrument, part, piece_id, stretch, draft.emphasis
        )
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        fetch(session, Instrument, instrument_id)
        same = (row for row in load_passages(session, piece_id, instrument_id)
                if (row.first_bar, row.last_bar) == (first, last))  # fmt: skip
        row = next(same, None)
        if row is None:
            row = ChosenPassage(
                piece_id=piece_id, instrument_id=instrument_id, first_bar=first, last_bar=last,
                shown=write_shown(passage.steps),
            )  # fmt: skip
            session.add(row)
        row.quarters_per_minute = draft.quarters_per_minute
        row.emphasis = draft.emphasis.value
        session.flush()
        return row.id


def open_passage(
    notebook: Notebook, result_cache: ResultCache, piece_id: int, passage_id: int
) -> PassagePage:
    """Return a passage as it is fingered now, with what differs from what was last shown.

    Raises:
        NotInNotebook: there is no such piece or passage.
        ScoreError: nothing in it can be read under the answers.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        row = _fetch_passage(session, piece_id, passage_id)
        instrument = fetch(session, Instrument, row.instrument_id)
        part = _read(session, notebook, piece, instrument)
        stretch = _stretch_of(row)
        if stretch.last_bar >= len(part.bars):
            raise NotInNotebook("The bars of this passage are no longer in the part.")
        passage, missing = _finger(
            session, notebook, result_cache, instrument, part, piece_id, stretch,
            Emphasis(row.emphasis),
        )  # fmt: skip
        before = find_differences(passage.steps, read_shown(row.shown))
        bars = name_stretch(part, stretch)
        writing = find_preferences(session)
        return PassagePage(piece, instrument, row, bars, passage, before, missing, writing)


def _finger(
    session: Session,
    notebook: Notebook,
    result_cache: ResultCache,
    instrument: Instrument,
    part: ScorePart,
    piece_id: int,
    stretch: Stretch,
    emphasis: Emphasis,
) -> tuple[FingeredPassage, Working | Failed | None]:
    wishes = FingeringWishes(emphasis, load_decisions(session, piece_id, instrument.id))
    return finger_with_predictions(
        session, notebook, result_cache, instrument, part, stretch, wishes
    )


def _fetch_passage(session: Session, piece_id: int, passage_id: int) -> ChosenPassage:
    row = session.get(ChosenPassage, passage_id) if is_row_number(passage_id) else None
    if row is None or row.piece_id != piece_id:
        raise NotInNotebook("This passage is no longer with the piece. Load the page again.")
    return row


def mark_seen(
    notebook: Notebook, result_cache: ResultCache, piece_id: int, passage_id: int
) -> None:
    """Keep that the player has seen a passage as it is fingered now.

    Raises:
        NotInNotebook: there is no such piece or passage.
    """
    shown = write_shown(open_passage(notebook, result_cache, piece_id, passage_id).passage.steps)
    with notebook.database.writing() as session:
        row = _fetch_passage(session, piece_id, passage_id)
        row.shown, row.shown_at = shown, now_utc()


def remove_passage(notebook: Notebook, piece_id: int, passage_id: int) -> None:
    """Forget a passage; what is fixed stays.

    Raises:
        NotInNotebook: there is no such piece or passage.
    """
    with notebook.database.writing() as session:
        row = _fetch_passage(session, piece_id, passage_id)
        session.execute(delete(ChosenPassage).where(ChosenPassage.id == row.id))


@dataclass(frozen=True, slots=True)
class FixWish:
    """A fingering that is to be fixed: of which note (its index in the part), and how far."""

    note_index: int
    keys_text: str
    is_everywhere: bool = False


def fix_in_passage(
    notebook: Notebook, result_cache: ResultCache, piece_id: int, passage_id: int, wish: FixWish
) -> None:
    """Fix a fingering for a note of a passage, or wherever its pitch comes in the piece.

    One that is not logged is logged for the note, as not tried.

    Raises:
        NotInNotebook: there is no such piece, passage or note.
        FieldRefused: the keys cannot be read, or the hands cannot do it.
    """
    page = open_passage(notebook, result_cache, piece_id, passage_id)
    step = next(
        (each for each in page.passage.steps if each.timed.note.index == wish.note_index), None
    )
    if step is None:
        raise NotInNotebook("This note is no longer in the passage. Load the page again.")
    note = step.timed.note
    fingering_id = _find_or_log(notebook, page.instrument.id, step, wish.keys_text)
    place = FixPlace(step.written)
    if not wish.is_everywhere:
        place = FixPlace(step.written, bar=note.bar, onset=Fraction(note.onset))
    fix(notebook, piece_id, fingering_id, place)
    with notebook.database.writing() as session:
        row = _fetch_passage(session, piece_id, passage_id)
        row.shown = replace_shown(row.shown, step, wish.keys_text)


def _find_or_log(notebook: Notebook, instrument_id: int, step: FingeredStep, keys_text: str) -> int:
    options = [step.option, *(each.option for each in step.alternatives)]
    for each in options:
        if each and each.keys_text == keys_text and each.fingering_id is not None:
            return each.fingering_id
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        try:
            keys = parse_fingering(keys_text, instrument.layout)
            check_playable(keys)
        except AnalysisError as error:
            raise FieldRefused("keys", str(error)) from error
        there = session.scalars(
            select(Fingering.id).where(
                Fingering.instrument_id == instrument_id,
                Fingering.deleted_at.is_(None),
                Fingering.keys_text == format_fingering(keys),
                Fingering.target_text == step.written.canonical,
            )
        ).first()
        if there is not None:
            return there
        names = find_preferences(session).names
        target = format_pitch(step.written, names=names)
        draft = FingeringDraft(keys=keys, target=target, strategy=Strategy.FOUND)
        return keep_fingering(session, instrument, draft, names).id


def let_go_in_passage(notebook: Notebook, piece_id: int, passage_id: int, fixed_id: int) -> None:
    """Let go of what is fixed for a note of a passage.

    Raises:
        NotInNotebook: there is no such piece or passage.
    """
    with notebook.database.reading() as session:
        _fetch_passage(session, piece_id, passage_id)
    unfix(notebook, piece_id, fixed_id)
