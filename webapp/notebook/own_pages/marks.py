"""Marks on own pages: put one on a note, change, move and remove it.

Where the notes of a piece are its marks, fingerings that are fixed at one place move with the mark.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.notebook.own_pages.choosing import ShownMark
from webapp.notebook.own_pages.files import fetch_file, sizes_of
from webapp.notebook.own_pages.opening import OwnPagesView, load_own_pages
from webapp.notebook.pieces.decisions import MOST_TOGETHER
from webapp.notebook.pieces.marked_parts import find_marked_places, load_marks
from webapp.notebook.pieces.originals import find_original
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    FixedFingering,
    FixKind,
    Instrument,
    MarkForm,
    PageMark,
    Piece,
)
from webapp.notebook.targets.reading import read_pitch

MARKS_AT_MOST = 2000
LABEL_CHARACTERS = 20
# A drawing is this tall on paper, and a letter as wide as tall; nearer to another they overlap.
DRAWING_MM, DRAWING_WIDTH_MM, LETTER_MM = 15.0, 9.0, 4.5
_OUT_OF_THE_WAY = 1_000_000


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a page: `page` is the index in its file; mm from the left and the top."""

    page: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class MarkDraft:
    """A note as the player says it: typed, several with `&` between; its bar, and how it stands.

    `reference` names a place of the part instead (`place_reference`); then the part says the rest.
    Without a form it is drawn where there is room, else it is a letter.
    """

    notes: str = ""
    bar_label: str = ""
    reference: str = ""
    form: MarkForm | None = None


def add_mark(
    notebook: Notebook,
    piece_id: int,
    file_id: int,
    spot: Spot,
    draft: MarkDraft,
    instrument_id: int | None = None,
) -> int:
    """Mark a note at a place of a page and return the number of the mark.

    Raises as `add_marks`.
    """
    return add_marks(notebook, piece_id, file_id, [(spot, draft)], instrument_id)[0]


def add_marks(
    notebook: Notebook,
    piece_id: int,
    file_id: int,
    placed: Sequence[tuple[Spot, MarkDraft]],
    instrument_id: int | None = None,
) -> list[int]:
    """Mark notes at places of a file and return the numbers of the marks.

    Raises:
        NotInNotebook: there is no such piece, file, page or place of the part.
        FieldRefused: a note cannot be read, or a bar is not said.
        Refused: there are too many marks.
    """
    with _changing(notebook, piece_id) as session:
        piece = fetch(session, Piece, piece_id)
        fetch_file(session, piece_id, file_id)
        view = load_own_pages(session, notebook, piece, instrument_id)
        drawn = [each.mark for each in view.marks if each.is_drawn]
        if len(view.marks) + len(placed) > MARKS_AT_MOST:
            raise Refused(f"A piece has at most {MARKS_AT_MOST:,} marks.")
        numbers = []
        for spot, draft in placed:
            row = PageMark(file_id=file_id, page=0, x_mm=0.0, y_mm=0.0)
            _fill(session, view, row, draft)
            _put(session, piece_id, row, spot)
            row.form = (draft.form or _choose_form(drawn, row)).value
            session.add(row)
            session.flush()
            numbers.append(row.id)
            if row.form == MarkForm.DRAWING:
                drawn.append(row)
        _see(session, notebook, piece, numbers)
        return numbers


def change_mark(
    notebook: Notebook, piece_id: int, mark_id: int, spot: Spot, draft: MarkDraft
) -> None:
    """Change note, bar, form and place of a mark.

    Raises:
        NotInNotebook: there is no such piece, mark or page.
        FieldRefused: the note cannot be read, or the bar is not said.
    """
    with _changing(notebook, piece_id) as session:
        row = _fetch_mark(session, piece_id, mark_id)
        piece = fetch(session, Piece, piece_id)
        before = row.pitches
        view = load_own_pages(session, notebook, piece)
        _fill(session, view, row, draft)
        _put(session, piece_id, row, spot)
        row.form = (draft.form or MarkForm(row.form)).value
        session.flush()
        if row.pitches != before:
            _see(session, notebook, piece, [row.id])


def move_mark(notebook: Notebook, piece_id: int, mark_id: int, x_mm: float, y_mm: float) -> None:
    """Move a mark on its page.

    Raises:
        NotInNotebook: there is no such piece or mark.
        FieldRefused: the place is not on the page.
    """
    with _changing(notebook, piece_id) as session:
        row = _fetch_mark(session, piece_id, mark_id)
        _put(session, piece_id, row, Spot(row.page, x_mm, y_mm))


def remove_mark(notebook: Notebook, piece_id: int, mark_id: int) -> None:
    """Take a mark off its page.

    Raises:
        NotInNotebook: there is no such piece or mark.
    """
    with _changing(notebook, piece_id) as session:
        session.delete(_fetch_mark(session, piece_id, mark_id))


def say_seen(notebook: Notebook, piece_id: int) -> None:
    """Keep that the player has seen which fingerings stand on the pages now.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.writing() as session:
        _see(session, notebook, fetch(session, Piece, piece_id))


@contextmanager
def _changing(notebook: Notebook, piece_id: int) -> Iterator[Session]:
    """Change marks in one transaction; what is fixed at one of them moves with it."""
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        is_paper = find_original(session, piece_id).is_paper
        before = _find_places(session, piece_id) if is_paper else {}
        yield session
        session.flush()
        if is_paper:
            _move_fixed(session, piece_id, before, _find_places(session, piece_id))
        piece.version += 1


_Place = tuple[int, str]


def _find_places(session: Session, piece_id: int) -> dict[int, _Place]:
    """Return bar and onset of each mark in the part that the marks make."""
    found = find_marked_places(load_marks(session, piece_id))
    return {number: (place.bar, str(place.onset)) for number, place in found.items()}


def _move_fixed(
    session: Session, piece_id: int, before: dict[int, _Place], now: dict[int, _Place]
) -> None:
    """Move what is fixed at a mark to where the mark is now; what hangs on none any more goes."""
    transpositions = dict(
        session.execute(select(Instrument.id, Instrument.transposition_cents)).all()
    )
    marks = {each.id: each.transposition_cents for each in load_marks(session, piece_id)}
    now_at = {
        (marks.get(number), place): now.get(number)
        for number, place in before.items()
        if number in marks
    }
    query = select(FixedFingering).where(
        FixedFingering.piece_id == piece_id, FixedFingering.kind == FixKind.NOTE.value
    )
    rows = session.scalars(query).all()
    moved = [
        (row, now_at.get((transpositions[row.instrument_id], (row.bar, row.onset)))) for row in rows
    ]
    for row, _ in moved:  # first out of the way: two may change places
        row.bar += _OUT_OF_THE_WAY
    session.flush()
    for row, place in moved:
        if place is None:
            session.delete(row)
        else:
            row.bar, row.onset = place


def _fetch_mark(session: Session, piece_id: int, mark_id: int) -> PageMark:
    row = session.get(PageMark, mark_id) if is_row_number(mark_id) else None
    if row is not None:
        fetch_file(session, piece_id, row.file_id)
        return row
    raise NotInNotebook("This mark is no longer on the page. Load the page again.")


def _fill(session: Session, view: OwnPagesView, row: PageMark, draft: MarkDraft) -> None:
    """Write into a row which note it is, and where it stands in the part."""
    if draft.reference:
        place = view.find_place(draft.reference)
        if place is None:
            raise NotInNotebook("This place is no longer in the part. Load the page again.")
        row.pitches = " ".join(each.canonical for each in place.pitches)
        row.transposition_cents = place.instrument.transposition_cents
        row.bar_label, row.onset = place.bar_label, str(place.note.onset)
        row.is_second = place.is_second
        return
    label = " ".join(draft.bar_label.split())
    if not 1 <= len(label) <= LABEL_CHARACTERS:
        raise FieldRefused(
            "bar", f"Give the bar by its number or a letter, up to {LABEL_CHARACTERS} characters."
        )
    instrument = next(
        (each for each in view.instruments if each.transposition_cents == row.transposition_cents),
        view.instruments[0],
    )
    pitches = _read_notes(session, instrument, draft.notes)
    is_same = (row.pitches, row.bar_label) == (pitches, label)
    row.pitches, row.bar_label = pitches, label
    row.transposition_cents = instrument.transposition_cents
    if not is_same:  # it is no longer what was taken from the part
        row.onset, row.is_second = "", False


def _read_notes(session: Session, instrument: Instrument, notes: str) -> str:
    typed = [each for each in notes.split("&") if each.strip()]
    if not 1 <= len(typed) <= MOST_TOGETHER:
        raise FieldRefused(
            "notes", "Type the note, or the notes of a multiphonic with & between: C5 & A5."
        )
    writing = find_preferences(session)
    read = [
        read_pitch(each, instrument, writing.names, field="notes", system=writing.accidentals)
        for each in typed
    ]
    return " ".join(each.canonical for each in sorted(read, key=lambda each: each.cents))


def _put(session: Session, piece_id: int, row: PageMark, spot: Spot) -> None:
    sizes = sizes_of(fetch_file(session, piece_id, row.file_id))
    if not 0 <= spot.page < len(sizes):
        raise NotInNotebook("This page is not in the file.")
    size = sizes[spot.page]
    # what is not a number is on no page either
    if not (0 <= spot.x_mm <= size.width_mm and 0 <= spot.y_mm <= size.height_mm):
        raise FieldRefused(
            "x_mm",
            f"The page is {size.width_mm:.0f} mm wide and {size.height_mm:.0f} mm tall. Give a "
            "place on it.",
        )
    row.page, row.x_mm, row.y_mm = spot.page, round(spot.x_mm, 2), round(spot.y_mm, 2)


def _choose_form(drawn: Sequence[PageMark], row: PageMark) -> MarkForm:
    """Draw it where no other drawing is in the way, else put a letter."""
    is_near = any(
        (each.file_id, each.page) == (row.file_id, row.page)
        and abs(each.x_mm - row.x_mm) < DRAWING_WIDTH_MM
        and abs(each.y_mm - row.y_mm) < DRAWING_MM
        for each in drawn
    )
    return MarkForm.LETTER if is_near else MarkForm.DRAWING


def _see(
    session: Session, notebook: Notebook, piece: Piece, only: Sequence[int] | None = None
) -> None:
    """Keep what stands at marks now as seen."""
    shown: Sequence[ShownMark] = load_own_pages(session, notebook, piece).marks
    for each in shown:
        if only is None or each.mark.id in only:
            each.mark.seen_keys = each.keys_text
