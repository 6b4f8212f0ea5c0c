"""Originals of pieces: kept as they came, read in a child process, and read anew under answers.

The file lies in the clip store under a name of our own, with its hash. Its transcript is derived
and stored beside it, so that the file is read again only when transcripts have a new form. Parts
read under answers are kept in memory by hash, as many as a player goes back and forth between.
"""

import json
from collections import OrderedDict
from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from threading import Lock
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.pitch import NoteNames, Transposition
from analysis.score import (
    EmptyScore,
    PartTranscript,
    ReadingSettings,
    ScorePart,
    UnreadableTypedPart,
    from_plain,
    parse_typed_part,
    read_part,
    read_score_file,
    settings_from_plain,
    to_plain,
    to_transcript,
)
from webapp.notebook.pieces.marked_parts import read_marked_part
from webapp.notebook.pieces.needs import read_part_for
from webapp.notebook.store.errors import ClipRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import OriginalKind, Piece, PieceOriginal

TYPED_ENDING = ".txt"
NAME_CHARACTERS = 255
TITLE_CHARACTERS = 200
PARTS_KEPT = 24
_ARCHIVE_MARK = b"PK"


@dataclass(frozen=True, slots=True)
class Source:
    """Source of a piece: an open score file with its name, or typed text.

    `part_number` is that of the part in a file, from 1; None takes the clarinet's.
    """

    file: IO[bytes] | None = None
    name: str = ""
    text: str = ""
    names: NoteNames = NoteNames.ENGLISH
    part_number: int | None = None


@dataclass(frozen=True, slots=True)
class ReadSource:
    """A source that was read and whose file lies in the store; nothing of it is in a row yet."""

    transcript: PartTranscript
    row: PieceOriginal


@contextmanager
def kept_source(notebook: Notebook, source: Source) -> Iterator[ReadSource]:
    """Read a source and keep its file; what fails within the block takes the file away again.

    Raises:
        ScoreError: it is no score that can be read, or nothing in the part has a pitch.
    """
    upload = source.file or BytesIO(source.text.encode("utf-8"))
    try:
        with notebook.clips.staged(upload) as staged:
            row = _describe(source, staged.sha256)
            transcript = _read_file(staged.path, row, source.part_number)
            read_part(transcript, ReadingSettings())  # refused here, before anything is kept
            _fill(row, transcript)
            row.clip_name = notebook.clips.keep(staged, _find_ending(staged.path, row))
    except ClipRefused as error:
        raise EmptyScore("There is nothing in it. Choose a score, or type the notes.") from error
    try:
        yield ReadSource(transcript, row)
    except BaseException:
        notebook.clips.remove([row.clip_name])
        raise


def read_other_part(notebook: Notebook, original: PieceOriginal, part_number: int) -> ReadSource:
    """Read another part of the file of an original; the new row shares the file.

    Raises:
        ClipMissing: the file is gone.
        ScoreError: there is no such part, or nothing in it has a pitch.
    """
    row = PieceOriginal(
        kind=original.kind,
        clip_name=original.clip_name,
        sha256=original.sha256,
        original_name=original.original_name,
        note_names=original.note_names,
    )
    transcript = _read_file(notebook.clips.find(original.clip_name), row, part_number)
    read_part(transcript, ReadingSettings())
    _fill(row, transcript)
    return ReadSource(transcript, row)


def find_original(session: Session, piece_id: int) -> PieceOriginal:
    """Return the original that counts: the newest."""
    return session.scalars(
        select(PieceOriginal)
        .where(PieceOriginal.piece_id == piece_id)
        .order_by(PieceOriginal.id.desc())
        .limit(1)
    ).one()


def find_earlier(session: Session, original: PieceOriginal) -> PieceOriginal | None:
    """Return the original before one that it can be compared with, or None."""
    found = session.scalars(
        select(PieceOriginal)
        .where(PieceOriginal.piece_id == original.piece_id, PieceOriginal.id < original.id)
        .order_by(PieceOriginal.id.desc())
        .limit(1)
    ).first()
    return None if found is None or found.is_paper else found


def load_transcript(
    session: Session, notebook: Notebook, original: PieceOriginal
) -> PartTranscript:
    """Return the transcript of an original; its file is read where it has an earlier form.

    Raises:
        ClipMissing: the file would have to be read, and is gone.
    """
    text = session.scalar(select(PieceOriginal.transcript).where(PieceOriginal.id == original.id))
    try:
        return from_plain(json.loads(text or "{}"))
    except (ValueError, KeyError):
        path = notebook.clips.find(original.clip_name)
        return _read_file(path, original, original.part_number)


def settings_of(piece: Piece) -> ReadingSettings:
    """Return the player's answers for a piece."""
    return settings_from_plain(json.loads(piece.answers))


def read_piece(
    session: Session,
    notebook: Notebook,
    piece: Piece,
    original: PieceOriginal,
    transposition: Transposition | None = None,
) -> ScorePart:
    """Return the part of a piece under the player's answers, from memory where it is there.

    Where neither the file nor the player says how it sounds, an instrument decides. The notes of
    a part on paper are the marks on its pages.
    """
    if original.is_paper:
        return read_marked_part(
            session, original, None if transposition is None else transposition.cents
        )
    cents = None if transposition is None else transposition.cents
    key = (
        original.sha256, original.kind, original.part_number, original.note_names, piece.answers,
        cents,
    )  # fmt: skip
    found = _PARTS.find(key)
    if found is None:
        transcript, settings = load_transcript(session, notebook, original), settings_of(piece)
        if transposition is None:
            found = read_part(transcript, settings)
        else:
            found = read_part_for(transcript, settings, transposition)
        _PARTS.keep(key, found)
    return found


class _PartsInMemory:
    """The parts read last, by what they were read from."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._parts: OrderedDict[Hashable, ScorePart] = OrderedDict()
        self._lock = Lock()

    def find(self, key: Hashable) -> ScorePart | None:
        """Return a part that is there."""
        with self._lock:
            if key in self._parts:
                self._parts.move_to_end(key)
            return self._parts.get(key)

    def keep(self, key: Hashable, part: ScorePart) -> None:
        """Keep a part, and let go of what was not asked for longest."""
        with self._lock:
            self._parts[key] = part
            while len(self._parts) > self._most:
                self._parts.popitem(last=False)


_PARTS = _PartsInMemory(PARTS_KEPT)


def _describe(source: Source, sha256: str) -> PieceOriginal:
    is_typed = source.file is None or source.name.lower().endswith(TYPED_ENDING)
    return PieceOriginal(
        kind=(OriginalKind.TYPED if is_typed else OriginalKind.FILE).value,
        sha256=sha256,
        original_name=source.name.replace("\\", "/").rpartition("/")[2][:NAME_CHARACTERS],
        note_names=source.names.value,
    )


def _read_file(path: Path, row: PieceOriginal, part_number: int | None) -> PartTranscript:
    if row.kind == OriginalKind.FILE:
        return read_score_file(path, part_number)
    return to_transcript(parse_typed_part(read_typed(path), names=NoteNames(row.note_names)))


def read_typed(path: Path) -> str:
    """Return typed text as it lies in a file.

    Raises:
        UnreadableTypedPart: it is not in UTF-8.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableTypedPart(
            "This text is not in UTF-8. Save it as UTF-8.", position=error.start, bar=""
        ) from error


def _fill(row: PieceOriginal, transcript: PartTranscript) -> None:
    row.part_number = transcript.heading.number
    row.part_name = transcript.heading.name[:TITLE_CHARACTERS]
    row.transcript = json.dumps(to_plain(transcript), ensure_ascii=False, separators=(",", ":"))


def _find_ending(path: Path, row: PieceOriginal) -> str:
    if row.kind == OriginalKind.TYPED:
        return "txt"
    with path.open("rb") as file:
        return "mxl" if file.read(len(_ARCHIVE_MARK)) == _ARCHIVE_MARK else "xml"
