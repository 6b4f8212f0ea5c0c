"""Comparison of an archive with what is there already from the same sender.

A part is new, changed, or the same; or older than the one that is there, which stays. Recordings
never go away again: an archive without them leaves those that are there.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.keywork import KeyStates, Layout, State
from analysis.pitch import format_cents
from webapp.drawing.figures import format_uncertainty
from webapp.notebook.exchange.documents import (
    Json,
    TheirFingering,
    TheirInstrument,
    fingerings_of,
    instruments_of,
    read_details,
    write_details,
)
from webapp.notebook.exchange.selecting import find_own_uid
from webapp.notebook.store.errors import ExchangeRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Instrument,
    ReceivedClip,
    ReceivedFingering,
    ReceivedInstrument,
    ReceivedList,
    Sender,
)

_Kept = ReceivedInstrument | ReceivedList


class Standpoint(StrEnum):
    """How a part of an archive stands to what is there."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    OLDER = "older"


@dataclass(frozen=True, slots=True)
class ArrivingFingering:
    """A fingering of an archive: how it stands, what changed in words, and its new recordings."""

    fingering: TheirFingering
    standpoint: Standpoint
    changes: tuple[str, ...] = ()
    new_sounds: tuple[str, ...] = ()

    @property
    def is_kept(self) -> bool:
        """Whether keeping the archive would do anything with it."""
        return self.standpoint in (Standpoint.NEW, Standpoint.CHANGED) or bool(self.new_sounds)


@dataclass(frozen=True, slots=True)
class LackedKeys:
    """The keys of theirs that an instrument of mine lacks, each with how many fingerings ask it."""

    instrument: Instrument
    keys: tuple[tuple[str, int], ...]
    fingering_count: int


@dataclass(frozen=True, slots=True)
class Preview:
    """All that an archive would change; nothing is kept by looking."""

    document: Json
    sender_name: str
    is_known: bool
    instruments: tuple[tuple[TheirInstrument, Standpoint], ...]
    fingerings: tuple[ArrivingFingering, ...]
    lists: tuple[tuple[Json, Standpoint], ...]
    lacked: tuple[LackedKeys, ...]
    is_renamed: bool = False

    @property
    def changes_nothing(self) -> bool:
        """Whether everything is there already, or newer."""
        still = {Standpoint.SAME, Standpoint.OLDER}
        return (
            not self.is_renamed
            and not any(each.is_kept for each in self.fingerings)
            and {how for _, how in (*self.instruments, *self.lists)} <= still
        )

    def of(self, standpoint: Standpoint) -> tuple[ArrivingFingering, ...]:
        """Return the fingerings that stand so."""
        return tuple(each for each in self.fingerings if each.standpoint is standpoint)

    @property
    def sound_count(self) -> int:
        """How many recordings would come in."""
        return sum(len(each.new_sounds) for each in self.fingerings)

    @property
    def sound_bytes(self) -> int:
        """How much room they take."""
        files = self.document["files"]
        return sum(files[name]["bytes"] for each in self.fingerings for name in each.new_sounds)


def preview_document(notebook: Notebook, document: Json) -> Preview:
    """Say what an archive would bring.

    Raises:
        ExchangeRefused: it came from this very notebook.
    """
    with notebook.database.reading() as session:
        return compare(session, document)


def compare(session: Session, document: Json) -> Preview:
    """Do the same within a transaction that may keep it.

    Raises:
        ExchangeRefused: it came from this very notebook.
    """
    said = document["sender"]
    if said["id"] == find_own_uid(session):
        raise ExchangeRefused(
            "This archive came from this very notebook: all of it is yours already. Nothing was "
            "kept."
        )
    sender = session.scalars(select(Sender).where(Sender.uid == said["id"])).first()
    there = _There.read(session, sender)
    return Preview(
        document=document,
        sender_name=said["name"] or (sender.name if sender else ""),
        is_known=sender is not None and sender.deleted_at is None,
        instruments=tuple(
            (each, _stand(instrument_alone(each.said), each.changed_at, found))
            for each in instruments_of(document)
            for found in (there.instruments.get(each.said["id"]),)
        ),
        fingerings=tuple(there.compare(each) for each in fingerings_of(document)),
        lists=tuple(
            (each, _stand(each, _moment(each), there.lists.get(each["id"])))
            for each in document["lists"]
        ),
        lacked=_find_lacked(session, tuple(fingerings_of(document))),
        is_renamed=sender is not None
        and (sender.deleted_at is not None or said["name"] not in ("", sender.name)),
    )


def find_lacked_keys(keys: KeyStates, layout: Layout) -> tuple[str, ...]:
    """Return which pressed keys another keywork lacks or cannot hold so, by their names."""
    there = {key.id: key for key in layout.keys}
    return tuple(
        key.name
        for key, state in zip(keys.layout.keys, keys.states, strict=True)
        if state is not State.UP and (key.id not in there or state not in there[key.id].states)
    )


@dataclass(frozen=True, slots=True)
class _There:
    """Rows that are there from a sender, by the ids that the sender gave."""

    instruments: Mapping[str, _Kept]
    fingerings: Mapping[str, ReceivedFingering]
    lists: Mapping[str, _Kept]
    sounds: Mapping[int, frozenset[str]]

    @classmethod
    def read(cls, session: Session, sender: Sender | None) -> "_There":
        if sender is None:
            return cls({}, {}, {}, {})
        mine = ReceivedInstrument.sender_id == sender.id
        instruments = session.scalars(select(ReceivedInstrument).where(mine))
        query = select(ReceivedFingering).join(ReceivedFingering.instrument).where(mine)
        fingerings = session.scalars(query.options(joinedload(ReceivedFingering.instrument))).all()
        lists = session.scalars(select(ReceivedList).where(ReceivedList.sender_id == sender.id))
        clips = (
            select(ReceivedClip.fingering_id, ReceivedClip.sha256)
            .join(ReceivedFingering, ReceivedFingering.id == ReceivedClip.fingering_id)
            .join(ReceivedFingering.instrument)
            .where(mine)
        )
        sounds: dict[int, set[str]] = {}
        for number, sha256 in session.execute(clips):
            sounds.setdefault(number, set()).add(sha256)
        return cls(
            {row.uid: row for row in instruments},
            {row.uid: row for row in fingerings},
            {row.uid: row for row in lists},
            {number: frozenset(found) for number, found in sounds.items()},
        )

    def compare(self, theirs: TheirFingering) -> ArrivingFingering:
        files = {
            take["sha256"]: take["file"]
            for take in theirs.said["takes"]
            if take["file"] is not None
        }
        row = self.fingerings.get(theirs.uid)
        if row is None:
            return ArrivingFingering(theirs, Standpoint.NEW, (), tuple(files.values()))
        before = read_details(row.details)
        heard = self.sounds.get(row.id, frozenset())
        sounds = tuple(name for sha256, name in files.items() if sha256 not in heard)
        if without_sounds(before) == without_sounds(theirs.said):
            changes = (_count(len(sounds), "recording"),) if sounds else ()
            how = Standpoint.CHANGED if sounds else Standpoint.SAME
            return ArrivingFingering(theirs, how, changes, sounds)
        if theirs.changed_at < row.changed_at:
            return ArrivingFingering(theirs, Standpoint.OLDER)
        return ArrivingFingering(
            theirs, Standpoint.CHANGED, describe_changes(before, theirs.said, len(sounds)), sounds
        )


def instrument_alone(said: Json) -> Json:
    """Return an instrument without its fingerings, which have rows of their own."""
    return {**said, "fingerings": []}


def without_sounds(said: Json) -> Json:
    """Return a fingering without which of its recordings come along."""
    return {**said, "takes": [{**take, "file": None} for take in said["takes"]]}


def describe_changes(before: Json, now: Json, sound_count: int) -> tuple[str, ...]:
    """Say what changed of a fingering, each change in a few words."""
    found = []
    if before["figures"] != now["figures"]:
        found.append(f"{_figure(before)} became {_figure(now)}")
    if before["keys"] != now["keys"]:
        found.append(f"{before['keys']} became {now['keys']}")
    if before["note"] != now["note"] and before["note"]["written"] != now["note"]["written"]:
        found.append(f"for {before['note']['in_words']}, now for {now['note']['in_words']}")
    if before["resistance"] != now["resistance"]:
        found.append("resistance")
    if before["does_not_speak"] != now["does_not_speak"]:
        found.append("does not speak" if now["does_not_speak"] else "speaks now")
    texts = ("notes", "resistance_notes", "tags", "words", "speaks_softly", "started_from", "how")
    if any(before[name] != now[name] for name in texts):
        found.append("notes and words")
    more = len(now["takes"]) - len(before["takes"])
    if more > 0:
        found.append(_count(more, "more take", "more takes"))
    if sound_count:
        found.append(_count(sound_count, "recording"))
    return tuple(found) or ("details",)


def _figure(said: Json) -> str:
    figures = said["figures"]
    if figures is None:
        return "not measured"
    offset = format_cents(figures["offset_cents"])
    return f"{offset} ± {format_uncertainty(figures['uncertainty_cents'])} cents"


def _count(number: int, one: str, many: str = "") -> str:
    return f"1 {one}" if number == 1 else f"{number} {many or one + 's'}"


def _moment(said: Json) -> datetime:
    return datetime.fromisoformat(said["changed_at"])


def _stand(said: Json, changed_at: datetime, row: _Kept | None) -> Standpoint:
    if row is None:
        return Standpoint.NEW
    if row.details == write_details(said):
        return Standpoint.SAME
    return Standpoint.OLDER if changed_at < row.changed_at else Standpoint.CHANGED


def _find_lacked(session: Session, fingerings: Sequence[TheirFingering]) -> tuple[LackedKeys, ...]:
    kinds = {each.instrument.said["kind"] for each in fingerings}
    query = select(Instrument).where(Instrument.deleted_at.is_(None), Instrument.kind_id.in_(kinds))
    found = (
        _count_lacked(
            mine, [each for each in fingerings if each.instrument.said["kind"] == mine.kind_id]
        )
        for mine in session.scalars(query.order_by(Instrument.id))
    )
    return tuple(each for each in found if each.keys)


def _count_lacked(mine: Instrument, fingerings: Iterable[TheirFingering]) -> LackedKeys:
    counts: dict[str, int] = {}
    layout, concerned = mine.layout, 0
    for each in fingerings:
        lacked = find_lacked_keys(each.keys, layout)
        concerned += bool(lacked)
        for name in lacked:
            counts[name] = counts.get(name, 0) + 1
    return LackedKeys(mine, tuple(sorted(counts.items())), concerned)
