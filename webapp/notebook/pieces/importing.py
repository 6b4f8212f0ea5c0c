"""Bring a piece into the notebook, and bring it in again: answers and decisions stay.

A second import adds an original; the earlier ones stay. What hangs on the index of a bar, answers
for trills and tempos fingerings fixed at one place, passages, moves with its bar.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.score import (
    NothingPitched,
    PartTranscript,
    ReadingSettings,
    ScorePart,
    UnsuitableSetting,
    read_part,
    settings_to_plain,
)
from webapp.notebook.pieces.bar_changes import BarComparison, compare_bars
from webapp.notebook.pieces.marked_parts import read_marked_part
from webapp.notebook.pieces.originals import (
    TITLE_CHARACTERS,
    ReadSource,
    Source,
    find_earlier,
    find_original,
    kept_source,
    load_transcript,
    read_other_part,
    settings_of,
)
from webapp.notebook.pieces.shown_passage import move_shown
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    ChosenPassage,
    FixedFingering,
    FixKind,
    Instrument,
    OriginalKind,
    Piece,
    PieceInstrument,
)

UNTITLED = "Untitled piece"
_OUT_OF_THE_WAY = 1_000_000


@dataclass(frozen=True, slots=True)
class PieceDraft:
    """A piece as the player brings it; an empty title or composer is taken from the file.

    Typed notes are written for the first of the instruments.
    """

    source: Source
    instrument_ids: tuple[int, ...]
    title: str = ""
    composer: str = ""


def add_piece(notebook: Notebook, draft: PieceDraft) -> int:
    """Keep a piece and return its number.

    Raises:
        NotInNotebook: one of the instruments is not there.
        FieldRefused: no instrument is chosen, or the title is too long.
        ScoreError: it is no score that can be read.
    """
    if not draft.instrument_ids:
        raise FieldRefused("instruments", "Choose the instrument that you play it on.")
    with kept_source(notebook, draft.source) as read, notebook.database.writing() as session:
        piece = Piece(
            title=check_title(draft.title or read.transcript.title or _name_of(draft.source)),
            composer=(draft.composer.strip() or read.transcript.composer)[:TITLE_CHARACTERS],
            answers="{}",
        )
        session.add(piece)
        session.flush()
        instruments = [
            fetch(session, Instrument, number) for number in dict.fromkeys(draft.instrument_ids)
        ]
        for instrument in instruments:
            session.add(PieceInstrument(piece_id=piece.id, instrument_id=instrument.id))
        if read.row.kind == OriginalKind.TYPED:
            sounds = ReadingSettings(
                is_sounding=False, transposition_cents=instruments[0].transposition_cents
            )
            piece.answers = json.dumps(settings_to_plain(sounds))
        read.row.piece_id = piece.id
        session.add(read.row)
        return piece.id


def check_title(title: str) -> str:
    """Return a title as it is kept.

    Raises:
        FieldRefused: it is too long.
    """
    found = title.strip() or UNTITLED
    if len(found) > TITLE_CHARACTERS:
        raise FieldRefused(
            "title",
            f"A title of {len(found)} characters is too long; {TITLE_CHARACTERS} are enough.",
        )
    return found


def _name_of(source: Source) -> str:
    """Name of a file without its ending, as a title where it has none."""
    return source.name.rpartition("/")[2].rpartition(".")[0].replace("_", " ")[:TITLE_CHARACTERS]


def import_again(notebook: Notebook, piece_id: int, source: Source) -> BarComparison:
    """Bring a piece in again and return what changed; answers and decisions stay.

    Raises:
        NotInNotebook: there is no such piece.
        ScoreError: it is no score that can be read.
    """
    with kept_source(notebook, source) as read, notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        return _replace(session, notebook, piece, read)


def choose_part(notebook: Notebook, piece_id: int, part_number: int) -> BarComparison:
    """Take another part of the piece's file; answers and decisions stay.

    Raises:
        NotInNotebook: there is no such piece.
        ScoreError: there is no such part, or nothing in it has a pitch.
        ClipMissing: the file is gone.
    """
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        original = find_original(session, piece_id)
        return _replace(session, notebook, piece, read_other_part(notebook, original, part_number))


def _replace(session: Session, notebook: Notebook, piece: Piece, read: ReadSource) -> BarComparison:
    original = find_original(session, piece.id)
    settings = settings_of(piece)
    if original.is_paper:
        marked = read_marked_part(session, original, None)
        if read.row.kind == OriginalKind.TYPED:
            settings = marked.settings
        compared = _compare_by_labels(marked, _read_leniently(read.transcript, settings))
    else:
        before = load_transcript(session, notebook, original)
        compared = _compare(before, read.transcript, settings)
    moved = _move_settings(settings, compared.index_now)
    now = _read_leniently(read.transcript, moved)
    piece.answers = json.dumps(settings_to_plain(now.settings))
    piece.version += 1
    _move_fixed(session, piece.id, compared.index_now)
    _move_passages(session, piece.id, compared.index_now)
    read.row.piece_id = piece.id
    session.add(read.row)
    session.flush()
    return compared


def _compare_by_labels(marked: ScorePart, now: ScorePart) -> BarComparison:
    """Find each bar that was marked on paper by its number; what else is there is no change."""
    indices = {each.label: each.index for each in reversed(now.bars)}
    index_now = {each.index: indices[each.label] for each in marked.bars if each.label in indices}
    return BarComparison((), index_now)


def _read_leniently(transcript: PartTranscript, settings: ReadingSettings) -> ScorePart:
    """Read a part under the answers, but for the voice where the new file has no such voice."""
    try:
        return read_part(transcript, settings)
    except (NothingPitched, UnsuitableSetting):
        return read_part(transcript, replace(settings, voice=None))


def _move_settings(settings: ReadingSettings, index_now: Mapping[int, int]) -> ReadingSettings:
    return replace(
        settings,
        trills=tuple(
            replace(each, bar=index_now[each.bar])
            for each in settings.trills
            if each.bar in index_now
        ),
        tempos=tuple(
            replace(each, bar=index_now.get(each.bar, 0))
            for each in settings.tempos
            if each.bar in index_now or each.bar == 0
        ),
    )


def _move_fixed(session: Session, piece_id: int, index_now: Mapping[int, int]) -> None:
    """Move fingerings fixed at one place with their bars; those of bars taken out go."""
    query = select(FixedFingering).where(
        FixedFingering.piece_id == piece_id, FixedFingering.kind == FixKind.NOTE.value
    )
    rows = session.scalars(query).all()
    moved = [(row, index_now.get(row.bar)) for row in rows]
    # first out of the way: two bars may change places, and no two rows may name one place
    for row, _ in moved:
        row.bar = _OUT_OF_THE_WAY + row.bar
    session.flush()
    for row, bar in moved:
        if bar is None:
            session.delete(row)
        else:
            row.bar = bar


def _move_passages(session: Session, piece_id: int, index_now: Mapping[int, int]) -> None:
    """Move passages with their first and last bars; one that lost either of them goes."""
    rows = session.scalars(select(ChosenPassage).where(ChosenPassage.piece_id == piece_id)).all()
    moved = [(row, index_now.get(row.first_bar), index_now.get(row.last_bar)) for row in rows]
    taken = set()
    for row, first, last in moved:
        place = row.instrument_id, first, last
        if first is None or last is None or last < first or place in taken:
            session.delete(row)
        else:
            taken.add(place)
            row.first_bar, row.last_bar = (
                row.first_bar + _OUT_OF_THE_WAY,
                row.last_bar + _OUT_OF_THE_WAY,
            )
    session.flush()
    for row, first, last in moved:
        if row not in session.deleted and first is not None and last is not None:
            row.first_bar, row.last_bar = first, last
            row.shown = move_shown(row.shown, index_now)


def find_changes(session: Session, notebook: Notebook, piece: Piece) -> BarComparison | None:
    """Compare a piece with what it was before its newest import; None where there was one only."""
    original = find_original(session, piece.id)
    earlier = find_earlier(session, original)
    if earlier is None:
        return None
    return _compare(
        load_transcript(session, notebook, earlier),
        load_transcript(session, notebook, original),
        settings_of(piece),
    )


def _compare(
    before: PartTranscript, now: PartTranscript, settings: ReadingSettings
) -> BarComparison:
    """Compare two transcripts under the answers that hold for no place of one of them alone."""
    everywhere = replace(settings, trills=(), tempos=())
    return compare_bars(_read_leniently(before, everywhere), _read_leniently(now, everywhere))
