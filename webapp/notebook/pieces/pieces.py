"""Pieces: list them, open one, change what stands at its head, choose its instruments."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.pitch import NoteNames
from analysis.score import ScorePart, parse_typed_part, write_typed_part
from webapp.notebook.pieces.answering import GivenAnswer, list_given
from webapp.notebook.pieces.bar_changes import BarComparison
from webapp.notebook.pieces.decisions import Decisions, load_decisions
from webapp.notebook.pieces.importing import check_title, find_changes
from webapp.notebook.pieces.needs import find_octaves
from webapp.notebook.pieces.originals import (
    TITLE_CHARACTERS,
    find_earlier,
    find_original,
    read_piece,
    read_typed,
)
from webapp.notebook.pieces.todo import PieceTodo, judge_part
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.clock import today
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, raise_version
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Instrument,
    OriginalKind,
    Piece,
    PieceInstrument,
    PieceOriginal,
)


@dataclass(frozen=True, slots=True)
class PieceSummary:
    """A piece in a list; `days_left` is None where no concert is to come."""

    piece: Piece
    instruments: tuple[Instrument, ...]
    days_left: int | None


@dataclass(frozen=True, slots=True)
class PiecePage:
    """A piece on one of its instruments: what is still to do, and what was decided.

    `asked` is the part as it is read without the instrument's help, for what has to be asked.
    """

    piece: Piece
    original: PieceOriginal
    instrument: Instrument
    instruments: tuple[Instrument, ...]
    other_instruments: tuple[Instrument, ...]
    todo: PieceTodo
    asked: ScorePart
    decisions: Decisions
    days_left: int | None
    has_earlier: bool

    @property
    def given(self) -> tuple[GivenAnswer, ...]:
        """The answers that stand."""
        return list_given(self.asked.settings)


@dataclass(frozen=True, slots=True)
class ChangesPage:
    """Changes of a piece with its newest import; None where there was one only."""

    piece: Piece
    comparison: BarComparison | None


def list_pieces(notebook: Notebook) -> tuple[PieceSummary, ...]:
    """Return the pieces, those with a concert to come first, then the newest."""
    with notebook.database.reading() as session:
        pieces = session.scalars(
            select(Piece).where(Piece.deleted_at.is_(None)).order_by(Piece.id.desc())
        ).all()
        chosen = load_instruments(session, [each.id for each in pieces])
        rows = [PieceSummary(each, chosen.get(each.id, ()), _days_left(each)) for each in pieces]
    return tuple(sorted(rows, key=lambda row: (row.days_left is None, row.days_left or 0)))


def load_instruments(
    session: Session, piece_ids: Sequence[int]
) -> dict[int, tuple[Instrument, ...]]:
    """Return the instruments of some pieces, without those in the bin."""
    query = (
        select(PieceInstrument)
        .join(PieceInstrument.instrument)
        .where(PieceInstrument.piece_id.in_(piece_ids), Instrument.deleted_at.is_(None))
        .options(joinedload(PieceInstrument.instrument))
        .order_by(PieceInstrument.instrument_id)
    )
    found: dict[int, tuple[Instrument, ...]] = {}
    for row in session.scalars(query):
        found[row.piece_id] = (*found.get(row.piece_id, ()), row.instrument)
    return found


def open_piece(notebook: Notebook, piece_id: int, instrument_id: int | None = None) -> PiecePage:
    """Return a piece as it stands on one of its instruments, by default the first.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: no instrument is left that it is played on.
        ScoreError: nothing in it can be read under the answers.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        return load_piece(session, notebook, piece, instrument_id)


def load_piece(
    session: Session, notebook: Notebook, piece: Piece, instrument_id: int | None = None
) -> PiecePage:
    """Return a piece as `open_piece` does, within a transaction that may do more."""
    chosen = load_instruments(session, [piece.id]).get(piece.id, ())
    instrument = choose_instrument(session, chosen, instrument_id)
    every = session.scalars(
        select(Instrument).where(Instrument.deleted_at.is_(None)).order_by(Instrument.id)
    )
    original = find_original(session, piece.id)
    part = read_piece(session, notebook, piece, original, instrument.transposition)
    decisions = load_decisions(session, piece.id, instrument.id)
    return PiecePage(
        piece=piece,
        original=original,
        instrument=instrument,
        instruments=chosen,
        other_instruments=_find_others(part, chosen, tuple(every)),
        todo=judge_part(session, instrument, part, decisions),
        asked=read_piece(session, notebook, piece, original),
        decisions=decisions,
        days_left=_days_left(piece),
        has_earlier=find_earlier(session, original) is not None,
    )


def _find_others(
    part: ScorePart, chosen: Sequence[Instrument], every: Sequence[Instrument]
) -> tuple[Instrument, ...]:
    """Return the instruments that a stretch of the part is for which none of the chosen plays."""
    missing = [
        segment
        for segment in part.segments
        if all(find_octaves(segment, each.transposition) is None for each in chosen)
    ]
    return tuple(
        each
        for each in every
        if any(find_octaves(segment, each.transposition) is not None for segment in missing)
    )


def choose_instrument(
    session: Session, chosen: Sequence[Instrument], instrument_id: int | None
) -> Instrument:
    """Return the wanted instrument of a piece, or its first.

    Raises:
        NotInNotebook: it is not there.
        FieldRefused: none is left.
    """
    if instrument_id is not None:
        return fetch(session, Instrument, instrument_id)
    if not chosen:
        raise FieldRefused(
            "instruments", "No instrument of this piece is left. Choose one in its settings."
        )
    return chosen[0]


def open_changes(notebook: Notebook, piece_id: int) -> ChangesPage:
    """Return what changed in a piece with its newest import.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        return ChangesPage(piece, find_changes(session, notebook, piece))


@dataclass(frozen=True, slots=True)
class PieceHead:
    """Title and composer of a piece, and the text it was typed as ('' for a file).

    The text is in the player's note names of today.
    """

    piece: Piece
    original: PieceOriginal
    instruments: tuple[Instrument, ...]
    every_instrument: tuple[Instrument, ...]
    text: str


def open_head(notebook: Notebook, piece_id: int) -> PieceHead:
    """Return what stands at the head of a piece, to be changed.

    Raises:
        NotInNotebook: there is no such piece.
        ClipMissing: its typed text is gone.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        original = find_original(session, piece_id)
        every = session.scalars(
            select(Instrument).where(Instrument.deleted_at.is_(None)).order_by(Instrument.id)
        ).all()
        chosen = load_instruments(session, [piece_id]).get(piece_id, ())
        names = find_preferences(session).names
    text = ""
    if original.kind == OriginalKind.TYPED:
        text = read_typed(notebook.clips.find(original.clip_name))
        typed_in = NoteNames(original.note_names)
        if typed_in is not names:  # it would be read back as other notes
            text = write_typed_part(parse_typed_part(text, names=typed_in), names=names)
    return PieceHead(piece, original, chosen, tuple(every), text)


@dataclass(frozen=True, slots=True)
class HeadDraft:
    """The head of a piece as the player wants it."""

    title: str
    composer: str
    concert_on: date | None
    instrument_ids: tuple[int, ...]


def change_head(notebook: Notebook, piece_id: int, draft: HeadDraft, *, seen_version: int) -> None:
    """Change title, composer, day of the concert and instruments.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: a field cannot be kept.
        StaleEdit: it was changed elsewhere since.
    """
    if len(draft.composer) > TITLE_CHARACTERS:
        raise FieldRefused("composer", f"At most {TITLE_CHARACTERS} characters. Shorten it.")
    if not draft.instrument_ids:
        raise FieldRefused("instruments", "Choose the instrument that you play it on.")
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        raise_version(piece, seen_version)
        piece.title = check_title(draft.title)
        piece.composer = draft.composer.strip()
        piece.concert_on = draft.concert_on
        _keep_instruments(session, piece_id, draft.instrument_ids)


def add_instrument_to(notebook: Notebook, piece_id: int, instrument_id: int) -> None:
    """Take another instrument for a piece, as where the part changes from B-flat to A.

    Raises:
        NotInNotebook: there is no such piece or instrument.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        fetch(session, Instrument, instrument_id)
        if session.get(PieceInstrument, (piece_id, instrument_id)) is None:
            session.add(PieceInstrument(piece_id=piece_id, instrument_id=instrument_id))


def _keep_instruments(session: Session, piece_id: int, wanted: Sequence[int]) -> None:
    rows = session.scalars(select(PieceInstrument).where(PieceInstrument.piece_id == piece_id))
    there = {row.instrument_id: row for row in rows}
    for number, row in there.items():
        if number not in wanted:
            session.delete(row)
    for number in dict.fromkeys(wanted):
        if number not in there:
            fetch(session, Instrument, number)
            session.add(PieceInstrument(piece_id=piece_id, instrument_id=number))


def _days_left(piece: Piece) -> int | None:
    if piece.concert_on is None:
        return None
    left = (piece.concert_on - today()).days
    return left if left >= 0 else None
