"""Letter to the composer of a piece: written by the notebook, edited by the player, one page."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from analysis.planning import MotionTable
from analysis.score import ScorePart
from webapp.notebook.charts.charts import last_change
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.pdf.letter import LetterSpec, render_letter
from webapp.notebook.pieces.awkward import AWKWARD_COST
from webapp.notebook.pieces.decisions import Decisions
from webapp.notebook.pieces.fingered import FingeringWishes, finger_bars
from webapp.notebook.pieces.letter_draft import (
    HardWay,
    LetterMatter,
    draft_letter,
    split_paragraphs,
)
from webapp.notebook.pieces.needs import collect_needs
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.passage_options import NoteOption, OptionFinder
from webapp.notebook.pieces.passage_steps import AwkwardWay
from webapp.notebook.pieces.pieces import PiecePage, load_piece
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Circumstance, Instrument, Piece, PieceLetter

LETTER_CHARACTERS = 8_000
NEAR_CENTS = (50, -50, 100, -100, 150, -150, 200, -200)


@dataclass(frozen=True, slots=True)
class LetterPage:
    """A letter: its text as kept, or as the notebook writes it now; `version` 0: none is kept."""

    piece: Piece
    instrument: Instrument
    text: str
    draft: str
    version: int
    as_of: date


def open_letter(notebook: Notebook, piece_id: int, instrument_id: int) -> LetterPage:
    """Return the letter of a piece on an instrument.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        ScoreError: nothing in it can be read under the answers.
    """
    with notebook.database.reading() as session:
        page = load_piece(session, notebook, fetch(session, Piece, piece_id), instrument_id)
        kept = session.get(PieceLetter, (piece_id, instrument_id))
        matter = LetterMatter(
            title=page.piece.title,
            composer=page.piece.composer,
            todo=page.todo,
            asked=page.asked,
            decisions=page.decisions,
            hard=_find_hard(session, page),
        )
        draft = draft_letter(matter, find_preferences(session).names)
        days = [date.fromisoformat(str(day_of(page.piece.updated_at)))]
        days += [last_change(session, page.instrument)]
        if kept is not None:
            days = [date.fromisoformat(str(day_of(kept.updated_at)))]
    return LetterPage(
        page.piece,
        page.instrument,
        draft if kept is None else kept.text,
        draft,
        0 if kept is None else kept.version,
        max(days),
    )


def keep_letter(
    notebook: Notebook, piece_id: int, instrument_id: int, text: str, *, seen_version: int
) -> None:
    """Keep a letter as the player wants it; an empty one is written by the notebook again.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: it is too long.
        StaleEdit: it was changed elsewhere since.
    """
    if len(text) > LETTER_CHARACTERS:
        raise FieldRefused("text", f"At most {LETTER_CHARACTERS} characters. Shorten it.")
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        fetch(session, Instrument, instrument_id)
        row = session.get(PieceLetter, (piece_id, instrument_id))
        if (0 if row is None else row.version) != seen_version:
            raise StaleEdit(
                "This letter was changed in another window after you opened it here. Yours is "
                "still in the field; the other one stands below. Nothing was overwritten."
            )
        wanted = text.replace("\r", "").strip()
        if not wanted:
            if row is not None:
                session.delete(row)
        elif row is None:
            session.add(PieceLetter(piece_id=piece_id, instrument_id=instrument_id, text=wanted))
        else:
            row.text, row.version = wanted, row.version + 1


def print_letter(notebook: Notebook, piece_id: int, instrument_id: int, paper: Paper) -> bytes:
    """Make the PDF of a letter as it is kept; the same letter gives the same bytes.

    Raises:
        NotInNotebook: there is no such piece or instrument.
    """
    page = open_letter(notebook, piece_id, instrument_id)
    return render_letter(
        LetterSpec(page.piece.title, tuple(split_paragraphs(page.text)), page.as_of, paper)
    )


def _find_hard(session: Session, page: PiecePage) -> tuple[HardWay, ...]:
    """Return the trills and steps that are hard for the hands, as the part is best fingered."""
    part, instrument = page.todo.part, page.instrument
    if not part.bars:
        return ()
    passage = finger_bars(
        session,
        instrument,
        part,
        Stretch(0, len(part.bars) - 1),
        FingeringWishes(decisions=page.decisions),
    )
    table = MotionTable(instrument.layout)  # of the hands alone; what sounds between is no matter
    found = []
    for way in passage.awkward:
        moved = table.find(way.first[1].option.played, way.second[1].option.played)
        easier = None
        if way.is_trill:
            easier = _find_easier(session, instrument, part, page.decisions, way)
        found.append(HardWay(way, moved.finger_count, easier))
    return tuple(found)


def _find_easier(
    session: Session,
    instrument: Instrument,
    part: ScorePart,
    decisions: Decisions,
    way: AwkwardWay,
) -> WrittenPitch | None:
    """Return the note nearest to the second of a trill that the hands can trill to."""
    (first, played), (second, _) = way.first, way.second
    near = [WrittenPitch.from_cents(second.cents + cents) for cents in NEAR_CENTS]
    near = [each for each in near if each.cents != first.cents]
    needs = collect_needs(part, instrument.transposition)
    finder = OptionFinder(session, instrument, needs, near, decisions, None)
    table = MotionTable(instrument.layout)

    def lies_well(option: NoteOption) -> bool:
        there, back = played.option.played, option.option.played
        return table.find(there, back).cost + table.find(back, there).cost < AWKWARD_COST

    for each in near:
        if any(map(lies_well, finder.find(each, frozenset({Circumstance.TRILL})).every)):
            return each
    return None
