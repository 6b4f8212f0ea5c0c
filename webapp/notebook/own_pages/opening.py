"""Own pages as they are opened: the pages, their marks with what is played, what comes next."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from sqlalchemy.orm import Session

from analysis.paper import PageSize
from webapp.notebook.own_pages.choosing import ShownMark, choose_for_marks
from webapp.notebook.own_pages.files import load_files, sizes_of
from webapp.notebook.pieces.marked_parts import find_marked_places, load_marks
from webapp.notebook.pieces.originals import find_original
from webapp.notebook.pieces.printing import judge_piece
from webapp.notebook.pieces.sheet import Judgement, SheetPlace, list_sheet_places
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument, PageFile, Piece, PieceOriginal

SECOND = "s"


@dataclass(frozen=True, slots=True)
class ShownPage:
    """A page with its marks; `number` counts from 1 through all files of the piece."""

    file: PageFile
    index: int
    number: int
    size: PageSize
    marks: tuple[ShownMark, ...]


@dataclass(frozen=True)
class OwnPagesView:
    """Own pages of a piece.

    `places` are what a part that was read asks to be marked, none where the piece consists of its
    pages.
    """

    piece: Piece
    original: PieceOriginal
    instruments: tuple[Instrument, ...]
    pages: tuple[ShownPage, ...]
    places: tuple[SheetPlace, ...]
    writing: Writing
    judgements: tuple[Judgement, ...] = ()

    @property
    def marks(self) -> tuple[ShownMark, ...]:
        """All marks, in the order of the part."""
        return tuple(mark for page in self.pages for mark in page.marks)

    @property
    def files(self) -> tuple[tuple[PageFile, int], ...]:
        """The files, each with how many pages it has."""
        counts = Counter(each.file.id for each in self.pages)
        files = {each.file.id: each.file for each in self.pages}
        return tuple((file, counts[number]) for number, file in files.items())

    def thought_heights(self, instrument: Instrument) -> frozenset[Fraction]:
        """The written heights that the piece lists on an instrument as needing thought."""
        return frozenset(
            each.need.written.cents
            for todo, _ in self.judgements
            if todo.instrument is instrument
            for each in todo.notes
        )

    @property
    def changed(self) -> tuple[ShownMark, ...]:
        """The marks where another fingering stands than the player saw last."""
        return tuple(each for each in self.marks if each.is_changed)

    @property
    def letters(self) -> tuple[ShownMark, ...]:
        """One mark of each fingering that has a letter, in the order of the letters."""
        found = {each.letter: each for each in reversed(self.marks) if each.letter}
        return tuple(sorted(found.values(), key=lambda each: (len(each.letter), each.letter)))

    @property
    def last_bar(self) -> str:
        """The bar that was marked last, '' where there is none."""
        newest = max((each.mark for each in self.marks), key=lambda mark: mark.id, default=None)
        return newest.bar_label if newest else ""

    @cached_property
    def waiting(self) -> tuple[SheetPlace, ...]:
        """The places that are not marked yet, those after the newest mark first."""
        marked = {_mark_key(each) for each in self.marks}
        newest = max((each.mark for each in self.marks), key=lambda mark: mark.id, default=None)
        keys = [_place_key(each) for each in self.places]
        at = 0
        if newest is not None:
            key = (newest.bar_label, newest.onset, newest.pitches, newest.is_second)
            at = keys.index(key) + 1 if key in keys else 0
        turned = [*self.places[at:], *self.places[:at]]
        return tuple(each for each in turned if _place_key(each) not in marked)

    def find_place(self, reference: str) -> SheetPlace | None:
        """Return the place that `place_reference` names, or None."""
        return next((each for each in self.places if place_reference(each) == reference), None)


def place_reference(place: SheetPlace) -> str:
    """Name a place of the part in a form: the number of its note, and `s` for a trill's other."""
    return f"{place.note.index}{SECOND if place.is_second else ''}"


_Key = tuple[str, str, str, bool]


def _place_key(place: SheetPlace) -> _Key:
    return (*place.key, place.is_second)


def _mark_key(shown: ShownMark) -> _Key:
    mark = shown.mark
    return mark.bar_label, mark.onset, mark.pitches, mark.is_second


def open_own_pages(
    notebook: Notebook, piece_id: int, instrument_id: int | None = None
) -> OwnPagesView:
    """Return the own pages of a piece, as they are played on its instruments.

    The wanted instrument counts before the others.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: no instrument is left that it is played on.
    """
    with notebook.database.reading() as session:
        return load_own_pages(session, notebook, fetch(session, Piece, piece_id), instrument_id)


def load_own_pages(
    session: Session, notebook: Notebook, piece: Piece, instrument_id: int | None = None
) -> OwnPagesView:
    """Return own pages as `open_own_pages` does, within a transaction that may do more."""
    judged = judge_piece(session, notebook, piece)
    if not judged:
        raise FieldRefused(
            "instruments", "No instrument of this piece is left. Choose one in its settings."
        )
    judgements = tuple(sorted(judged, key=lambda each: each[0].instrument.id != instrument_id))
    original = find_original(session, piece.id)
    rows = load_marks(session, piece.id)
    at = find_marked_places(rows) if original.is_paper else {}
    marks = choose_for_marks(session, judgements, rows, at)
    return OwnPagesView(
        piece=piece,
        original=original,
        instruments=tuple(todo.instrument for todo, _ in judgements),
        pages=_lay_out(load_files(session, piece.id), marks),
        places=() if original.is_paper else _first_of_each(judgements),
        writing=find_preferences(session),
        judgements=judgements,
    )


def _first_of_each(judgements: Sequence[Judgement]) -> tuple[SheetPlace, ...]:
    """Return the places of a part, each on the first instrument that it is for."""
    found: dict[_Key, SheetPlace] = {}
    for place in list_sheet_places(judgements):
        found.setdefault(_place_key(place), place)
    return tuple(found.values())


def _lay_out(files: Sequence[PageFile], marks: Sequence[ShownMark]) -> tuple[ShownPage, ...]:
    pages: list[ShownPage] = []
    for file in files:
        for index, size in enumerate(sizes_of(file)):
            here = tuple(
                each for each in marks if (each.mark.file_id, each.mark.page) == (file.id, index)
            )
            pages.append(ShownPage(file, index, len(pages) + 1, size, here))
    return tuple(pages)
