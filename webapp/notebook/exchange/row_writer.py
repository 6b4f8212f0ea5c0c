"""Rows of the player's own written as parts of a document: instrument, fingerings, takes, a list.

The same rows give the same parts; moments are those of the last change.
"""

import hashlib
from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from analysis.keywork import KeyStates, State, spell_out, write_layout
from analysis.pitch import SoundingPitch, WrittenPitch, format_pitch
from webapp.notebook.exchange.documents import Json
from webapp.notebook.exchange.listed_notes import ListedNote
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Choice,
    Fingering,
    Instrument,
    Measurement,
    Take,
)
from webapp.notebook.takes.offsets import take_offset


class RowWriter:
    """Writes rows as parts of a document; `clips` collects the recordings it names."""

    def __init__(
        self,
        session: Session,
        notebook: Notebook,
        uid: str,
        *,
        has_recordings: bool,
        has_notes: bool,
    ) -> None:
        self.clips: dict[str, str] = {}
        self._session = session
        self._uid = uid
        self._has_notes = has_notes
        self._there = notebook.clips.names() if has_recordings else frozenset[str]()

    def write_instrument(self, row: Instrument, fingerings: Sequence[Fingering]) -> dict[str, Any]:
        """Write an instrument with its set-up, its keywork and the chosen fingerings."""
        takes = self._load_takes([each.id for each in fingerings])
        words = self._load_words([each.id for each in fingerings])
        layout = row.layout
        return {
            "id": self.name("instrument", row.id, row.created_at),
            "changed_at": _moment(row.updated_at),
            "name": row.name,
            "kind": row.kind_id,
            "kind_words": row.kind.name,
            "transposition_cents": row.transposition_cents,
            "tuning_a_hz": row.tuning_a_hz,
            "mouthpiece": row.mouthpiece,
            "reed": row.reed,
            "barrel": row.barrel,
            "keywork": {
                "id": layout.id,
                "version": layout.version,
                "name": layout.name,
                "toml": write_layout(layout),
            },
            "fingerings": [
                self._write_fingering(each, takes.get(each.id, []), words.get(each.id, []))
                for each in fingerings
            ],
        }

    def write_list(
        self,
        said: Json,
        instrument: Instrument,
        fingerings: Sequence[Fingering],
        listed: Iterable[ListedNote],
        title: str,
        message: str,
    ) -> dict[str, Any]:
        """Write the chosen fingerings as a list, or the list of a practice as it is."""
        there = {each.id: each for each in fingerings}
        notes = [
            self._write_listed(each.written, there.get(each.fingering_id or 0), each.remark)
            for each in listed
        ] or [self._write_listed(each.written, each) for each in fingerings]
        moments = [said["changed_at"], *(each["changed_at"] for each in said["fingerings"])]
        key = f"{self._uid} list {said['id']} {title}"
        return {
            "id": hashlib.sha256(key.encode()).hexdigest()[:16],
            "changed_at": max(moments, key=datetime.fromisoformat),
            "instrument": said["id"],
            "title": title,
            "message": message,
            "notes": notes,
        }

    def name(self, kind: str, number: int, created_at: datetime) -> str:
        """Name a row for others: the same for good, also where its number is given again."""
        key = f"{self._uid} {kind} {number} {created_at.isoformat()}"
        return hashlib.sha256(key.encode()).hexdigest()[:16]

    def _write_listed(
        self, written: WrittenPitch, row: Fingering | None, remark: str = ""
    ) -> dict[str, Any]:
        uid = None if row is None else self.name("fingering", row.id, row.created_at)
        return {"written": written.canonical, "fingering": uid, "remark": remark}

    def _write_fingering(
        self, row: Fingering, takes: Sequence[Take], words: Sequence[Choice]
    ) -> dict[str, Any]:
        keys, written = row.key_states(), row.written
        uid = self.name("fingering", row.id, row.created_at)
        moments = [row.updated_at, *(each.created_at for each in takes)]
        moments += [each.created_at for each in words]
        return {
            "id": uid,
            "changed_at": _moment(max(moments)),
            "drawing": f"drawings/{uid}.svg",
            "note": {
                "written": written.canonical,
                "sign_cents": None if written.sign_cents is None else str(written.sign_cents),
                "in_words": format_pitch(written.to_be_read(), style="words"),
                "sounding_cents": row.sounding_cents,
            },
            "keys": row.keys_text,
            "keys_in_words": spell_out(keys),
            "pressed": _pressed(keys),
            "started_from": None
            if row.base_keys_text is None or row.base_written_text is None
            else {"keys": row.base_keys_text, "written": row.base_written_text},
            "how": row.strategy,
            "how_in_words": row.strategy_words,
            "figures": _figures(row),
            "does_not_speak": row.does_not_speak,
            "speaks_softly": row.speaks_softly,
            "resistance": row.resistance,
            "resistance_notes": self._own_words(row.resistance_notes),
            "notes": self._own_words(row.notes),
            "tags": list(row.tags) if self._has_notes else [],
            "words": [
                {
                    "written_cents": each.written_exact,
                    "role": each.role,
                    "circumstance": each.circumstance,
                    "reason": self._own_words(each.reason),
                }
                for each in words
            ],
            "takes": [self._write_take(each, row) for each in takes],
        }

    def _own_words(self, text: str) -> str:
        return text if self._has_notes else ""

    def _write_take(self, take: Take, row: Fingering) -> dict[str, Any]:
        file = None
        if take.clip_name in self._there:
            file = f"takes/{take.sha256}.{take.clip_format}"
            self.clips[file] = take.clip_name
        offset = take_offset(take, SoundingPitch(row.target_cents))
        return {
            "sha256": take.sha256,
            "bytes": take.byte_count,
            "format": take.clip_format,
            "file": file,
            "recorded_at": _moment(take.recorded_at),
            "dynamic": take.dynamic,
            "tuning_a_hz": take.tuning_a_hz,
            "air_temperature_c": take.air_temperature_c,
            "verdict": take.measurement.verdict,
            "standing": take.standing,
            "offset_cents": None if offset is None else offset.offset_cents,
            "uncertainty_cents": None if offset is None else offset.uncertainty_cents,
        }

    def _load_takes(self, ids: Collection[int]) -> dict[int, list[Take]]:
        measured = selectinload(Take.measurements).defer(Measurement.details)
        query = (
            select(Take)
            .where(Take.fingering_id.in_(ids), Take.deleted_at.is_(None))
            .options(measured)
            .order_by(Take.recorded_at, Take.id)
        )
        found: dict[int, list[Take]] = {}
        for take in self._session.scalars(query):
            if take.fingering_id is not None:
                found.setdefault(take.fingering_id, []).append(take)
        return found

    def _load_words(self, ids: Collection[int]) -> dict[int, list[Choice]]:
        query = select(Choice).where(Choice.fingering_id.in_(ids)).order_by(Choice.id)
        found: dict[int, list[Choice]] = {}
        for each in self._session.scalars(query):
            found.setdefault(each.fingering_id, []).append(each)
        return found


def _pressed(keys: KeyStates) -> dict[str, str]:
    return {
        key.id: state.value
        for key, state in zip(keys.layout.keys, keys.states, strict=True)
        if state is not State.UP
    }


def _figures(row: Fingering) -> dict[str, Any] | None:
    if not row.is_measured or row.offset_cents is None or row.offset_uncertainty_cents is None:
        return None
    return {
        "offset_cents": row.offset_cents,
        "uncertainty_cents": row.offset_uncertainty_cents,
        "spread_cents": row.spread_cents,
        "takes_counted": row.take_count,
    }


def _moment(moment: datetime) -> str:
    return moment.isoformat()
