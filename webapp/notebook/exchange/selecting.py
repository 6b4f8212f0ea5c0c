"""Selections of the player's own fingerings, written as the document of an exchange.

The same notebook gives the same document: its moments are those of the last change. Who sends is
told by an id that the notebook makes by chance when something leaves it for the first time, and by
the name that the player wants to give. Notes about the instrument itself stay here.
"""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, selectinload

from analysis.finder.strategies import Strategy
from analysis.pitch import NoteNames
from webapp.notebook.exchange.documents import FINGERINGS_AT_MOST, FORMAT, FORMAT_VERSION, Json
from webapp.notebook.exchange.listed_notes import (
    ListedNote,
    find_title,
    list_piece,
    list_practice,
)
from webapp.notebook.exchange.row_writer import RowWriter
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Fingering,
    FingeringTag,
    Instrument,
    OwnIdentity,
)
from webapp.notebook.targets.reading import read_range_end
from webapp.notebook.targets.search import SearchQuery, narrow_down

NAME_CHARACTERS, TITLE_CHARACTERS, MESSAGE_CHARACTERS = 120, 200, 4000
SHOWN_AT_MOST = 500
_OWN = 1


@dataclass(frozen=True, slots=True)
class Selection:
    """Which fingerings of one instrument; range ends are text as typed, empty for open.

    `fingering_ids`, where given, are the ones of those that are wanted, in any order.
    `practice_id` takes the list of a practice instead, `piece_id` the notes of a piece that need
    thought; both with notes that have no fingering.
    """

    instrument_id: int
    low: str = ""
    high: str = ""
    tag: str = ""
    strategy: Strategy | None = None
    is_measured_only: bool = False
    is_choice_only: bool = False
    is_without_half_holes: bool = False
    fingering_ids: frozenset[int] | None = None
    practice_id: int | None = None
    piece_id: int | None = None


@dataclass(frozen=True, slots=True)
class Sending:
    """Companions of a selection: who sends it, recordings, and a list with a message, if any."""

    player_name: str = ""
    has_recordings: bool = True
    list_title: str = ""
    message: str = ""
    has_notes: bool = True


@dataclass(frozen=True, slots=True)
class Selected:
    """Fingerings of a selection, and the name that the player signed with.

    They are there in order of pitch as long as each can be ticked, else only counted.
    """

    instrument: Instrument
    count: int
    fingerings: tuple[Fingering, ...]
    player_name: str
    piece_title: str = ""

    @property
    def is_too_long(self) -> bool:
        """Whether it is more than one archive takes."""
        return self.count > FINGERINGS_AT_MOST


def open_selection(notebook: Notebook, selection: Selection, names: NoteNames) -> Selected:
    """Return what a selection holds.

    Raises:
        NotInNotebook: there is no such instrument or practice.
        FieldRefused: a range end cannot be read, or the range is upside down.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, selection.instrument_id)
        listed = load_listed(session, notebook, instrument, selection)
        narrowed = _narrow(instrument, selection, names, listed)
        count = session.scalar(select(func.count(Fingering.id)).where(*narrowed)) or 0
        rows = _load(session, instrument, narrowed) if count <= SHOWN_AT_MOST else ()
        own = session.get(OwnIdentity, _OWN)
        title = find_title(session, selection.piece_id)
        return Selected(instrument, count, rows, own.player_name if own else "", title)


def load_selection(
    session: Session,
    instrument: Instrument,
    selection: Selection,
    names: NoteNames,
    listed: Sequence[ListedNote] | None = None,
) -> tuple[Fingering, ...]:
    """Return the fingerings of a selection with their tags, in order of pitch.

    `listed` are the notes of its practice or piece (`load_listed`), where it has one.

    Raises:
        FieldRefused: a range end cannot be read, or the range is upside down.
    """
    return _load(session, instrument, _narrow(instrument, selection, names, listed))


def _load(
    session: Session, instrument: Instrument, narrowed: Sequence[ColumnElement[bool]]
) -> tuple[Fingering, ...]:
    query = (
        select(Fingering)
        .where(*narrowed)
        .options(selectinload(Fingering.tag_rows))
        .order_by(Fingering.written_cents, Fingering.id)
        .limit(FINGERINGS_AT_MOST + 1)
    )
    rows = tuple(session.scalars(query))
    for row in rows:
        row.instrument = instrument
    return rows


def _narrow(
    instrument: Instrument,
    selection: Selection,
    names: NoteNames,
    listed: Sequence[ListedNote] | None,
) -> list[ColumnElement[bool]]:
    """Return the conditions on the fingerings of a selection."""
    low = read_range_end(selection.low, instrument, names, field="low")
    high = read_range_end(selection.high, instrument, names, field="high")
    if low is not None and high is not None and low.cents > high.cents:
        raise FieldRefused("high", "The upper end of the range lies below the lower end.")
    narrowed = [
        Fingering.instrument_id == instrument.id,
        Fingering.deleted_at.is_(None),
        *narrow_down(
            SearchQuery(
                strategy=selection.strategy,
                is_without_half_holes=selection.is_without_half_holes,
                is_measured_only=selection.is_measured_only,
                is_choice_only=selection.is_choice_only,
            )
        ),
    ]
    if low is not None:
        narrowed.append(Fingering.written_cents >= float(low.cents))
    if high is not None:
        narrowed.append(Fingering.written_cents <= float(high.cents))
    if selection.tag.strip():
        tagged = select(FingeringTag.fingering_id).where(FingeringTag.tag == selection.tag.strip())
        narrowed.append(Fingering.id.in_(tagged))
    if listed is not None:
        named = {each.fingering_id for each in listed if each.fingering_id is not None}
        narrowed.append(Fingering.id.in_(named))
    if selection.fingering_ids is not None:
        narrowed.append(Fingering.id.in_(selection.fingering_ids))
    return narrowed


def load_listed(
    session: Session, notebook: Notebook, instrument: Instrument, selection: Selection
) -> tuple[ListedNote, ...] | None:
    """Return the notes of the practice or the piece that a selection names; None without one.

    Raises:
        NotInNotebook: there is no such practice or piece.
        Refused: the practice is one of another instrument.
        ScoreError: nothing in the piece can be read under the answers.
    """
    if selection.practice_id is not None:
        return list_practice(session, instrument, selection.practice_id)
    if selection.piece_id is not None:
        return list_piece(session, notebook, instrument, selection.piece_id)
    return None


def compose_document(
    notebook: Notebook, selection: Selection, sending: Sending, *, names: NoteNames
) -> tuple[Json, dict[str, str]]:
    """Return the document of a selection, and the clips in the store by their names in the archive.

    The player's name is remembered for the next time.

    Raises:
        NotInNotebook: there is no such instrument or practice.
        FieldRefused: a range end cannot be read, a text is too long, nothing is chosen, or too
            much.
    """
    _check_texts(sending)
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, selection.instrument_id)
        listed = load_listed(session, notebook, instrument, selection)
        rows = load_selection(session, instrument, selection, names, listed)
        if not rows and not listed:
            raise Refused("Nothing is chosen, so there is nothing to hand on. Choose fingerings.")
        if len(rows) > FINGERINGS_AT_MOST:
            raise Refused(
                f"More than {FINGERINGS_AT_MOST} fingerings are chosen, more than one archive "
                "takes. Narrow the choice down."
            )
        own = _keep_identity(session, sending.player_name.strip())
        writer = RowWriter(
            session,
            notebook,
            own.uid,
            has_recordings=sending.has_recordings,
            has_notes=sending.has_notes,
        )
        said = writer.write_instrument(instrument, rows)
        title, message = sending.list_title.strip(), sending.message.strip()
        lists = []
        if title:
            lists = [writer.write_list(said, instrument, rows, listed or (), title, message)]
        document = {
            "format": FORMAT,
            "version": FORMAT_VERSION,
            "sender": {"id": own.uid, "name": own.player_name},
            "instruments": [said],
            "lists": lists,
        }
        return document, writer.clips


def find_own_uid(session: Session) -> str:
    """Return by what others know this notebook; empty where nothing ever left it."""
    own = session.get(OwnIdentity, _OWN)
    return own.uid if own else ""


def _check_texts(sending: Sending) -> None:
    for field, text, most in (
        ("player_name", sending.player_name, NAME_CHARACTERS),
        ("list_title", sending.list_title, TITLE_CHARACTERS),
        ("message", sending.message, MESSAGE_CHARACTERS),
    ):
        if len(text.strip()) > most:
            raise FieldRefused(
                field, f"This has {len(text.strip())} characters, and there is room for {most}."
            )
    if sending.message.strip() and not sending.list_title.strip():
        raise FieldRefused("list_title", "A message goes with a list: give the list a title.")


def _keep_identity(session: Session, player_name: str) -> OwnIdentity:
    own = session.get(OwnIdentity, _OWN)
    if own is None:
        own = OwnIdentity(id=_OWN, uid=secrets.token_hex(16))
        session.add(own)
    own.player_name = player_name
    return own
