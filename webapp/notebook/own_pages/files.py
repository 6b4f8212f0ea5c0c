"""Files with pages of a piece: kept as they came, looked at and drawn in a child process.

A file lies in the clip store under a name of our own, with its hash. Its pages are drawn when they
are asked for, and kept in memory by hash, as many as a player turns over in a rehearsal.
"""

import json
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.paper import Drawing, EmptyPaper, PageSize, draw_page, look_at_file
from webapp.notebook.pieces.importing import check_title
from webapp.notebook.pieces.originals import NAME_CHARACTERS, TITLE_CHARACTERS
from webapp.notebook.store.errors import ClipRefused, FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Instrument,
    OriginalKind,
    PageFile,
    Piece,
    PieceInstrument,
    PieceOriginal,
)

FILES_AT_MOST = 40
DRAWINGS_KEPT = 24


@dataclass(frozen=True, slots=True)
class PageUpload:
    """A file as the player chooses it."""

    file: IO[bytes]
    name: str = ""


def add_pages(notebook: Notebook, piece_id: int, uploads: Sequence[PageUpload]) -> int:
    """Keep files with pages of a piece, after those that are there; return how many pages came.

    Raises:
        NotInNotebook: there is no such piece.
        Refused: there are too many files.
        PaperError: one of them is no part that can be shown; none is kept then.
    """
    with _kept(notebook, uploads) as rows, notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        if len(load_files(session, piece_id)) + len(rows) > FILES_AT_MOST:
            raise Refused(f"A piece has at most {FILES_AT_MOST} files. Join photos to one PDF.")
        _add(session, piece_id, rows)
        return sum(len(sizes_of(each)) for each in rows)


def start_from_pages(
    notebook: Notebook,
    uploads: Sequence[PageUpload],
    instrument_ids: Sequence[int],
    title: str = "",
    composer: str = "",
) -> int:
    """Make a piece of the pages of a part; its notes are those that will be marked on them.

    Raises:
        NotInNotebook: one of the instruments is not there.
        FieldRefused: no instrument is chosen, or the title is too long.
        PaperError: one of the files is no part that can be shown.
    """
    if not instrument_ids:
        raise FieldRefused("instruments", "Choose the instrument that you play it on.")
    named = title.strip() or _title_of(uploads[0].name)
    with _kept(notebook, uploads) as rows, notebook.database.writing() as session:
        piece = Piece(
            title=check_title(named), composer=composer.strip()[:TITLE_CHARACTERS], answers="{}"
        )
        session.add(piece)
        session.flush()
        for number in dict.fromkeys(instrument_ids):
            fetch(session, Instrument, number)
            session.add(PieceInstrument(piece_id=piece.id, instrument_id=number))
        _add(session, piece.id, rows)
        session.add(_original_of(piece.id, rows[0]))
        return piece.id


def remove_file(notebook: Notebook, piece_id: int, file_id: int) -> None:
    """Take a file off a piece for good, with the marks on its pages.

    Raises:
        NotInNotebook: there is no such piece or file.
        Refused: it is the only one of a piece that consists of its pages.
    """
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        row = fetch_file(session, piece_id, file_id)
        others = [each for each in load_files(session, piece_id) if each.id != row.id]
        for original in session.scalars(
            select(PieceOriginal).where(
                PieceOriginal.piece_id == piece_id, PieceOriginal.clip_name == row.clip_name
            )
        ):
            if not others:
                raise Refused("The piece consists of this file. Move the piece to the bin instead.")
            original.clip_name, original.sha256 = others[0].clip_name, others[0].sha256
            original.original_name = others[0].original_name
        session.delete(row)
        piece.version += 1
        name = row.clip_name
    notebook.clips.remove([name])


def draw_one_page(notebook: Notebook, piece_id: int, file_id: int, page: int) -> Drawing:
    """Return a page (index) of a file as a picture for the screen.

    Raises:
        NotInNotebook: there is no such piece, file or page.
        ClipMissing: the file is gone.
        PaperError: it cannot be drawn.
    """
    with notebook.database.reading() as session:
        fetch(session, Piece, piece_id)
        row = fetch_file(session, piece_id, file_id)
    if page >= len(sizes_of(row)):
        raise NotInNotebook("This page is not in the file.")
    key = (row.sha256, page)
    found = _DRAWINGS.find(key)
    if found is None:
        found = draw_page(notebook.clips.find(row.clip_name), page)
        _DRAWINGS.keep(key, found)
    return found


def load_files(session: Session, piece_id: int) -> tuple[PageFile, ...]:
    """Return the files with pages of a piece, in their order."""
    query = select(PageFile).where(PageFile.piece_id == piece_id).order_by(PageFile.id)
    return tuple(session.scalars(query))


def fetch_file(session: Session, piece_id: int, file_id: int) -> PageFile:
    """Return a file of a piece.

    Raises:
        NotInNotebook: it is not there.
    """
    row = session.get(PageFile, file_id) if is_row_number(file_id) else None
    if row is None or row.piece_id != piece_id:
        raise NotInNotebook("These pages are no longer with the piece. Load the page again.")
    return row


def sizes_of(file: PageFile) -> tuple[PageSize, ...]:
    """Return the sizes of the pages of a file."""
    return tuple(PageSize(float(width), float(height)) for width, height in json.loads(file.sizes))


@contextmanager
def _kept(notebook: Notebook, uploads: Sequence[PageUpload]) -> Iterator[list[PageFile]]:
    """Keep files; what fails within the block takes them away again."""
    rows: list[PageFile] = []
    try:
        for each in uploads:
            rows.append(_keep(notebook, each))
        if not rows:
            raise EmptyPaper("No file was chosen. Choose a PDF, or photos of the part.")
        yield rows
    except BaseException:
        notebook.clips.remove([each.clip_name for each in rows])
        raise


def _keep(notebook: Notebook, upload: PageUpload) -> PageFile:
    try:
        with notebook.clips.staged(upload.file) as staged:
            found = look_at_file(staged.path)
            sizes = [[each.width_mm, each.height_mm] for each in found.sizes]
            return PageFile(
                kind=found.kind.value,
                clip_name=notebook.clips.keep(staged, found.kind.value),
                sha256=staged.sha256,
                original_name=_name_of(upload.name),
                sizes=json.dumps(sizes, separators=(",", ":")),
            )
    except ClipRefused as error:
        raise EmptyPaper("This file is empty. Choose the PDF or the photo itself.") from error


def _add(session: Session, piece_id: int, rows: Sequence[PageFile]) -> None:
    for each in rows:
        each.piece_id = piece_id
        session.add(each)
        session.flush()  # their numbers are their order


def _original_of(piece_id: int, file: PageFile) -> PieceOriginal:
    return PieceOriginal(
        piece_id=piece_id,
        kind=OriginalKind.FILE.value,
        clip_name=file.clip_name,
        sha256=file.sha256,
        original_name=file.original_name,
        transcript="{}",
    )


def _name_of(name: str) -> str:
    return name.replace("\\", "/").rpartition("/")[2][:NAME_CHARACTERS]


def _title_of(name: str) -> str:
    return Path(_name_of(name)).stem.replace("_", " ")[:TITLE_CHARACTERS]


class _DrawingsInMemory:
    """The pages drawn last, by the hash of their file."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._drawings: OrderedDict[tuple[str, int], Drawing] = OrderedDict()
        self._lock = Lock()

    def find(self, key: tuple[str, int]) -> Drawing | None:
        """Return a page that is there."""
        with self._lock:
            if key in self._drawings:
                self._drawings.move_to_end(key)
            return self._drawings.get(key)

    def keep(self, key: tuple[str, int], drawing: Drawing) -> None:
        """Keep a page, and let go of what was not asked for longest."""
        with self._lock:
            self._drawings[key] = drawing
            while len(self._drawings) > self._most:
                self._drawings.popitem(last=False)


_DRAWINGS = _DrawingsInMemory(DRAWINGS_KEPT)
