"""Fingerings and lists of others, opened: senders, what each sent, the same archive to pass on.

Nothing here is evidence: it is shown beside the player's own, under the sender's name, and the
judge (`targets`) never reads these rows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, contains_eager

from analysis.errors import AnalysisError
from analysis.pitch import WrittenPitch, format_pitch
from webapp.drawing.figures import round_uncertainty
from webapp.notebook.csv_tables import Cell
from webapp.notebook.exchange.archive import TAKES, write_archive
from webapp.notebook.exchange.comparing import find_lacked_keys
from webapp.notebook.exchange.documents import (
    FORMAT,
    FORMAT_VERSION,
    Json,
    TheirFingering,
    TheirInstrument,
    TheirList,
    read_details,
)
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.fetching import is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    ReceivedClip,
    ReceivedFingering,
    ReceivedInstrument,
    ReceivedList,
    ReceivedOrigin,
    Sender,
)

NEAR_CENTS = 25.0
NEAR_AT_MOST = 12
COLUMNS = (
    "from", "their_instrument", "note", "keys", "sounding_cents", "offset_cents",
    "uncertainty_cents", "takes", "resistance", "does_not_speak", "how", "notes", "tags",
    "measured_by",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SenderEntry:
    """A sender with how much came from it."""

    sender: Sender
    fingering_count: int
    list_count: int


@dataclass(frozen=True, slots=True)
class Heard:
    """A recording of theirs that is here: its number, and what they say of the take."""

    clip_id: int
    take: Json


@dataclass(frozen=True, slots=True)
class Received:
    """A fingering of a sender with its row number; `sounds` are there where they were asked for."""

    id: int
    sender: Sender
    theirs: TheirFingering
    sounds: tuple[Heard, ...] = ()

    @property
    def attribution(self) -> str:
        """Whose it is, in words."""
        return f"from {self.sender.shown_name}, on {self.theirs.instrument.name}"


@dataclass(frozen=True, slots=True)
class ReceivedPage:
    """One fingering of a sender, with the player's instruments that it may be tried on."""

    received: Received
    mine: tuple[tuple[Instrument, tuple[str, ...]], ...]
    tried: tuple[Fingering, ...]


@dataclass(frozen=True, slots=True)
class SenderPage:
    """All that came from one sender; `unreadable` do not fit their keywork of today."""

    sender: Sender
    instruments: tuple[TheirInstrument, ...]
    fingerings: tuple[Received, ...]
    lists: tuple[tuple[ReceivedList, TheirList], ...]
    unreadable_count: int = 0


def list_senders(notebook: Notebook) -> tuple[SenderEntry, ...]:
    """Return everyone from whom something came, the newest first."""
    with notebook.database.reading() as session:
        counts = (
            select(ReceivedInstrument.sender_id, func.count(ReceivedFingering.id))
            .join(ReceivedFingering, ReceivedFingering.instrument_id == ReceivedInstrument.id)
            .group_by(ReceivedInstrument.sender_id)
        )
        fingerings = dict(session.execute(counts).all())
        query = select(ReceivedList.sender_id, func.count()).group_by(ReceivedList.sender_id)
        lists = dict(session.execute(query).all())
        senders = session.scalars(
            select(Sender)
            .where(Sender.deleted_at.is_(None))
            .order_by(Sender.received_at.desc(), Sender.id.desc())
        )
        return tuple(
            SenderEntry(each, fingerings.get(each.id, 0), lists.get(each.id, 0)) for each in senders
        )


def open_sender(notebook: Notebook, sender_id: int) -> SenderPage:
    """Return all that came from a sender.

    Raises:
        NotInNotebook: there is none, or it lies in the bin.
    """
    with notebook.database.reading() as session:
        sender = fetch_sender(session, sender_id)
        document = compose_received(session, sender)
        rows = list(_read_rows(session, ReceivedInstrument.sender_id == sender.id))
        lists = session.scalars(
            select(ReceivedList)
            .where(ReceivedList.sender_id == sender.id)
            .order_by(ReceivedList.id)
        )
        readable = tuple(each for each in rows if is_readable(each.theirs))
        return SenderPage(
            sender,
            tuple(TheirInstrument(each) for each in document["instruments"]),
            readable,
            tuple((row, TheirList(read_details(row.details))) for row in lists),
            len(rows) - len(readable),
        )


def open_received(notebook: Notebook, received_id: int) -> ReceivedPage:
    """Return one fingering of a sender.

    Raises:
        NotInNotebook: there is none, or its sender lies in the bin, or it cannot be read.
    """
    with notebook.database.reading() as session:
        received = fetch_received(session, received_id)
        kind = received.theirs.instrument.said["kind"]
        query = select(Instrument).where(Instrument.deleted_at.is_(None))
        mine = sorted(
            session.scalars(query.order_by(Instrument.id)), key=lambda each: each.kind_id != kind
        )
        tried = (
            select(Fingering)
            .join(ReceivedOrigin, ReceivedOrigin.fingering_id == Fingering.id)
            .where(ReceivedOrigin.received_id == received_id, Fingering.deleted_at.is_(None))
        )
        return ReceivedPage(
            received,
            tuple(
                (each, find_lacked_keys(received.theirs.keys, each.layout))
                for each in mine
                if each.kind_id == kind or each.layout.id == received.theirs.instrument.layout.id
            ),
            tuple(session.scalars(tried.order_by(Fingering.id))),
        )


def find_near(
    session: Session, instrument: Instrument, written: WrittenPitch
) -> tuple[Received, ...]:
    """Return what others sent for where a note sounds, on instruments of the same kind."""
    cents = instrument.transposition.to_sounding(written).cents
    wanted = ReceivedFingering.sounding_cents.between(cents - NEAR_CENTS, cents + NEAR_CENTS)
    found = _read_rows(
        session, wanted & (ReceivedInstrument.kind_id == instrument.kind_id), at_most=NEAR_AT_MOST
    )
    return tuple(each for each in found if is_readable(each.theirs))


def open_near(
    notebook: Notebook, instrument: Instrument, written: WrittenPitch
) -> tuple[Received, ...]:
    """Do the same in a transaction of its own."""
    with notebook.database.reading() as session:
        return find_near(session, instrument, written)


def find_received_clip(notebook: Notebook, clip_id: int) -> tuple[ReceivedClip, Path]:
    """Return a recording of theirs and where its file lies.

    Raises:
        NotInNotebook: there is none.
        ClipMissing: its file is gone.
    """
    with notebook.database.reading() as session:
        row = session.get(ReceivedClip, clip_id) if is_row_number(clip_id) else None
        if row is None:
            raise NotInNotebook("There is no such recording from anybody in this notebook.")
    return row, notebook.clips.find(row.clip_name)


def pass_on(notebook: Notebook, sender_id: int, target: IO[bytes]) -> str:
    """Write what came from a sender as an archive again, still as theirs; return its file name.

    Raises:
        NotInNotebook: there is no such sender.
        ExchangeRefused: a recording is not what it was when it came.
    """
    with notebook.database.reading() as session:
        sender = fetch_sender(session, sender_id)
        document = compose_received(session, sender)
        query = (
            select(ReceivedClip)
            .join(ReceivedFingering, ReceivedFingering.id == ReceivedClip.fingering_id)
            .join(ReceivedFingering.instrument)
            .where(ReceivedInstrument.sender_id == sender.id)
        )
        clips = {
            f"{TAKES}{row.sha256}.{row.clip_format}": notebook.clips.find(row.clip_name)
            for row in session.scalars(query)
        }
    write_archive(document, clips, target)
    return f"fingerings-from-{sender.uid[:8]}.zip"


def compose_received(session: Session, sender: Sender) -> Json:
    """Put the document together again that a sender's archive held."""
    instruments = session.scalars(
        select(ReceivedInstrument)
        .where(ReceivedInstrument.sender_id == sender.id)
        .order_by(ReceivedInstrument.id)
    )
    said = {row.id: {**read_details(row.details), "fingerings": []} for row in instruments}
    rows = _load(session, ReceivedInstrument.sender_id == sender.id)
    heard = _load_clips(session, rows)
    for row in rows:
        details = _with_sounds(read_details(row.details), heard.get(row.id, ()))
        instrument = TheirInstrument(said[row.instrument_id])
        if is_readable(TheirFingering(details, instrument)):
            said[row.instrument_id]["fingerings"].append(details)
    there = {each["id"] for one in said.values() for each in one["fingerings"]}
    lists = session.scalars(
        select(ReceivedList).where(ReceivedList.sender_id == sender.id).order_by(ReceivedList.id)
    )
    return {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "sender": {"id": sender.uid, "name": sender.name},
        "instruments": list(said.values()),
        "lists": [_only_known(read_details(row.details), there) for row in lists],
    }


def fetch_sender(session: Session, sender_id: int) -> Sender:
    """Return a sender.

    Raises:
        NotInNotebook: there is none, or it lies in the bin.
    """
    row = session.get(Sender, sender_id) if is_row_number(sender_id) else None
    if row is None or row.deleted_at is not None:
        raise NotInNotebook(
            "Nothing from this player is in this notebook, or it lies in the bin. The page of what "
            "came from others lists what there is."
        )
    return row


def fetch_received(session: Session, received_id: int) -> Received:
    """Return one fingering of a sender with its recordings.

    Raises:
        NotInNotebook: there is none, its sender lies in the bin, or it cannot be read.
    """
    wanted = ReceivedFingering.id == received_id
    found = list(_read_rows(session, wanted)) if is_row_number(received_id) else []
    if not found or not is_readable(found[0].theirs):
        raise NotInNotebook(
            "There is no such fingering from anybody in this notebook, or its sender lies in the "
            "bin."
        )
    return found[0]


def is_readable(theirs: TheirFingering) -> bool:
    """Whether the keys are those of their keywork, which may have changed since."""
    try:
        _ = theirs.keys, theirs.written
    except AnalysisError:
        return False
    return True


def tabulate_sender(page: SenderPage) -> Iterator[tuple[Cell, ...]]:
    """Return what came from a sender as a table, under `COLUMNS`; each row says whose it is."""
    for each in page.fingerings:
        said, theirs = each.theirs.said, each.theirs
        yield (
            page.sender.shown_name,
            theirs.instrument.name,
            theirs.written.canonical,
            said["keys"],
            round(theirs.sounding_cents, 1),
            None if theirs.offset_cents is None else round(theirs.offset_cents, 1),
            None
            if theirs.uncertainty_cents is None
            else round_uncertainty(theirs.uncertainty_cents),
            theirs.take_count,
            said["resistance"],
            "yes" if said["does_not_speak"] else None,
            said["how_in_words"],
            said["notes"],
            ", ".join(said["tags"]),
            page.sender.shown_name if theirs.is_measured else None,
        )


def name_of(theirs: TheirFingering) -> str:
    """Name the note of a fingering in English words."""
    return format_pitch(theirs.written.to_be_read(), style="words")


def _load(
    session: Session, wanted: ColumnElement[bool], at_most: int | None = None
) -> list[ReceivedFingering]:
    query = (
        select(ReceivedFingering)
        .join(ReceivedFingering.instrument)
        .join(ReceivedInstrument.sender)
        .where(wanted, Sender.deleted_at.is_(None))
        .options(
            contains_eager(ReceivedFingering.instrument).contains_eager(ReceivedInstrument.sender)
        )
        .order_by(ReceivedFingering.id)
        .limit(at_most)
    )
    return list(session.scalars(query))


def _read_rows(
    session: Session, wanted: ColumnElement[bool], at_most: int | None = None
) -> Iterator[Received]:
    rows = _load(session, wanted, at_most)
    heard = _load_clips(session, rows)
    for row in rows:
        instrument = TheirInstrument(read_details(row.instrument.details))
        clips = heard.get(row.id, ())
        details = _with_sounds(read_details(row.details), clips)
        numbers = {clip.sha256: clip.id for clip in clips}
        sounds = tuple(
            Heard(numbers[take["sha256"]], take)
            for take in details["takes"]
            if take["sha256"] in numbers
        )
        yield Received(row.id, row.instrument.sender, TheirFingering(details, instrument), sounds)


def _load_clips(
    session: Session, rows: Sequence[ReceivedFingering]
) -> dict[int, tuple[ReceivedClip, ...]]:
    if not rows:
        return {}
    query = select(ReceivedClip).where(ReceivedClip.fingering_id.in_([row.id for row in rows]))
    found: dict[int, tuple[ReceivedClip, ...]] = {}
    for clip in session.scalars(query.order_by(ReceivedClip.id)):
        found[clip.fingering_id] = (*found.get(clip.fingering_id, ()), clip)
    return found


def _with_sounds(details: Json, clips: Sequence[ReceivedClip]) -> Json:
    """Say again which recordings are there, which rows say rather than texts."""
    there = {clip.sha256: f"{TAKES}{clip.sha256}.{clip.clip_format}" for clip in clips}
    takes = [{**take, "file": there.get(take["sha256"])} for take in details["takes"]]
    return {**details, "takes": takes}


def _only_known(said: Json, there: set[str]) -> Json:
    notes = [
        {**each, "fingering": each["fingering"] if each["fingering"] in there else None}
        for each in said["notes"]
    ]
    return {**said, "notes": notes}
