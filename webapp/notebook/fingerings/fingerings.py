"""Fingerings: log, change, open."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.keywork import KeyStates, check_playable, format_fingering
from analysis.pitch import NoteNames, Sentence, WrittenPitch, format_pitch
from analysis.recording import OTHER_NOTES, TakeStanding
from webapp.notebook.fingerings.linking import link_logged
from webapp.notebook.fingerings.sameness import find_same
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.derived import keep_keys
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, fetch_fingering, raise_version
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, FingeringTag, Instrument, Take
from webapp.notebook.takes.evidence import (
    count_shared,
    find_sharing,
    load_details,
    load_takes,
    refresh_evidence,
)
from webapp.notebook.takes.likeness import offer_fingerings
from webapp.notebook.takes.playback import choose_own
from webapp.notebook.targets.answers import answer_note, sounds_as
from webapp.notebook.targets.bases import StartingPoint, find_base, reference_of
from webapp.notebook.targets.choices import load_words_of
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.reading import read_pitch, read_target
from webapp.notebook.targets.standing import Judged, Word

TAG_LIMIT = 20
TAKES_SHOWN = 30
TAG_CHARACTERS = 60


@dataclass(frozen=True, slots=True)
class FingeringDraft:
    """A fingering as the player enters it; `target` is text as typed, `base` a reference."""

    keys: KeyStates
    target: str
    strategy: Strategy
    base: str = ""
    resistance: int | None = None
    resistance_notes: str = ""
    notes: str = ""
    tags: tuple[str, ...] = ()
    does_not_speak: bool = False
    speaks_softly: bool | None = None
    suggestion_id: int | None = None


@dataclass(frozen=True, slots=True)
class FingeringPage:
    """A fingering with its evidence and its family."""

    fingering: Fingering
    takes: tuple[Take, ...]
    ancestors: tuple[Fingering, ...]
    derived: tuple[Fingering, ...]
    answer: NoteAnswer
    same: tuple[Fingering, ...] = ()
    shared_take_count: int = 0
    # the player's words on it for other notes than the one that it was logged for
    other_words: tuple[tuple[WrittenPitch, Word], ...] = ()
    # by the number of a take that does not count: the fingerings that it may have been
    offered: Mapping[int, tuple[Fingering, ...]] = field(default_factory=dict)
    # the newest of the takes, whose details are there; oldest first, as all of them
    shown: tuple[Take, ...] = ()

    @property
    def judged(self) -> Judged | None:
        """How the fingering stands to the note that it was logged for."""
        return self.answer.find(self.fingering.id)

    @property
    def sounds_as(self) -> Sentence:
        """Where it sounds."""
        return sounds_as(self.fingering.instrument, self.fingering.sounding_cents)


def target_words(fingering: Fingering, names: NoteNames) -> str:
    """Write a target so that reading it gives the same target again.

    That is what the player typed, unless it would be read differently now: with other note names
    (B4), or another tuning A (566.2 Hz).
    """
    try:
        again = read_pitch(fingering.target_typed, fingering.instrument, names)
    except FieldRefused:
        again = None
    if again == fingering.written:
        return fingering.target_typed
    return format_pitch(fingering.written, names=names)


def log_fingering(
    notebook: Notebook, instrument_id: int, draft: FingeringDraft, *, names: NoteNames
) -> int:
    """Keep a new fingering and return its number.

    Raises:
        NotInNotebook: no such instrument.
        Refused: the hands cannot do it, or a field cannot be kept.
    """
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        return keep_fingering(session, instrument, draft, names).id


def keep_fingering(
    session: Session, instrument: Instrument, draft: FingeringDraft, names: NoteNames
) -> Fingering:
    """Keep a new fingering within a transaction that may do more.

    Raises:
        Refused: the hands cannot do it, or a field cannot be kept.
    """
    fingering = add_fingering(session, instrument, draft, names)
    session.flush()
    link_logged(session, fingering, draft.suggestion_id)
    return fingering


def add_fingering(
    session: Session, instrument: Instrument, draft: FingeringDraft, names: NoteNames
) -> Fingering:
    """Add a new fingering to what a transaction writes; it gets its number with the next flush.

    Raises:
        Refused: the hands cannot do it, or a field cannot be kept.
    """
    fingering = Fingering(instrument=instrument, tag_rows=[])
    with session.no_autoflush:  # not before it is filled
        _fill(session, fingering, draft, names)
    fingering.sounding_cents = fingering.target_cents
    session.add(fingering)
    return fingering


def change_fingering(
    notebook: Notebook,
    fingering_id: int,
    draft: FingeringDraft,
    *,
    seen_version: int,
    names: NoteNames,
) -> None:
    """Change a fingering; its takes stay, and are compared with the new target.

    Raises:
        NotInNotebook, StaleEdit, Refused.
    """
    with notebook.database.writing() as session:
        fingering = fetch_fingering(session, fingering_id, selectinload(Fingering.tag_rows))
        raise_version(fingering, seen_version)
        shared_before = find_sharing(session, fingering)
        _fill(session, fingering, draft, names)
        for each in (fingering, *shared_before):
            refresh_evidence(session, each)


def open_fingering(notebook: Notebook, fingering_id: int) -> FingeringPage:
    """Return a fingering with its takes, what it came from and what came from it.

    Raises:
        NotInNotebook: there is no such fingering, or it is in the bin.
    """
    with notebook.database.reading() as session:
        return load_fingering(session, fingering_id)


def load_fingering(session: Session, fingering_id: int) -> FingeringPage:
    """Return a fingering with its takes and its family, within a transaction that may do more.

    Raises:
        NotInNotebook: there is no such fingering, or it is in the bin.
    """
    fingering = fetch_fingering(session, fingering_id, selectinload(Fingering.tag_rows))
    takes = tuple(load_takes(session, fingering_id))
    shown = takes[-TAKES_SHOWN:]
    load_details(session, {*shown, *choose_own(takes)})
    derived = select(Fingering).where(
        Fingering.base_id == fingering_id, Fingering.deleted_at.is_(None)
    )
    return FingeringPage(
        fingering=fingering,
        takes=takes,
        ancestors=_ancestors(session, fingering),
        derived=tuple(session.scalars(derived.order_by(Fingering.id))),
        answer=answer_note(session, fingering.instrument, fingering.written),
        same=find_same(session, fingering),
        shared_take_count=count_shared(fingering, takes),
        other_words=_other_words(session, fingering),
        offered=_offer_others(session, fingering, shown),
        shown=shown,
    )


def _offer_others(
    session: Session, fingering: Fingering, takes: Sequence[Take]
) -> dict[int, tuple[Fingering, ...]]:
    """Offer other fingerings for the takes that sounded as another note."""
    strange = [take for take in takes if TakeStanding(take.standing) in OTHER_NOTES]
    offered = offer_fingerings(session, fingering.instrument, strange)
    return {
        number: tuple(row for row in rows if row.id != fingering.id)
        for number, rows in offered.items()
    }


def _other_words(session: Session, fingering: Fingering) -> tuple[tuple[WrittenPitch, Word], ...]:
    words = load_words_of(session, fingering)
    return tuple(
        (written, word) for written, word in words if written.cents != fingering.written.cents
    )


def _ancestors(session: Session, fingering: Fingering) -> tuple[Fingering, ...]:
    """Follow the logged bases back, nearest first; one recursive query whatever the depth."""
    line = (
        select(Fingering.base_id.label("id"))
        .where(Fingering.id == fingering.id)
        .cte("line", recursive=True)
    )
    line = line.union(select(Fingering.base_id).where(Fingering.id == line.c.id))
    rows = {
        row.id: row
        for row in session.scalars(select(Fingering).where(Fingering.id.in_(select(line.c.id))))
    }
    found: list[Fingering] = []
    next_id = fingering.base_id
    while next_id is not None and (row := rows.pop(next_id, None)) is not None:
        found.append(row)
        next_id = row.base_id
    return tuple(found)


def _fill(session: Session, fingering: Fingering, draft: FingeringDraft, names: NoteNames) -> None:
    instrument = fingering.instrument
    system = find_preferences(session).accidentals
    in_hand = fingering.written if fingering.target_text else None
    written = read_target(draft.target, instrument, names, system=system, in_hand=in_hand)
    if format_fingering(draft.keys) != fingering.keys_text:  # what is logged stays so
        try:
            check_playable(draft.keys)
        except AnalysisError as error:
            raise FieldRefused("keys", str(error)) from error
    if draft.resistance is not None and not 1 <= draft.resistance <= 5:
        raise FieldRefused("resistance", "Resistance goes from 1 (free) to 5 (very high).")
    keep_keys(fingering, draft.keys)
    fingering.target_text = written.canonical
    fingering.target_sign = None if written.sign_cents is None else str(written.sign_cents)
    fingering.target_typed = draft.target.strip()
    fingering.written_cents = float(written.cents)
    fingering.target_cents = instrument.transposition.to_sounding(written).cents
    fingering.strategy = draft.strategy.value
    fingering.resistance = draft.resistance
    fingering.resistance_notes = draft.resistance_notes.strip()
    fingering.notes = draft.notes.strip()
    fingering.does_not_speak = draft.does_not_speak
    fingering.speaks_softly = draft.speaks_softly
    if draft.base != reference_of(fingering):
        _set_base(session, fingering, find_base(session, instrument, draft.base))
    _set_tags(fingering, draft.tags)


def _set_base(session: Session, fingering: Fingering, base: StartingPoint | None) -> None:
    if fingering.id is not None and base is not None and base.fingering_id is not None:
        row = fetch(session, Fingering, base.fingering_id, with_binned=True)
        _refuse_own_descent(session, fingering, row)
    fingering.base_id = base.fingering_id if base else None
    fingering.base_keys_text = format_fingering(base.keys) if base else None
    fingering.base_written_text = base.written.canonical if base else None


def _refuse_own_descent(session: Session, fingering: Fingering, base: Fingering) -> None:
    line = (base, *_ancestors(session, base))
    if any(each.id == fingering.id for each in line):
        raise FieldRefused(
            "base",
            "A fingering cannot come from itself, nor from one that came from it. "
            "Choose another one, or none.",
        )


def _set_tags(fingering: Fingering, tags: tuple[str, ...]) -> None:
    wanted = sorted({tag.strip() for tag in tags if tag.strip()})
    if len(wanted) > TAG_LIMIT:
        raise FieldRefused("tags", f"{len(wanted)} tags were given; {TAG_LIMIT} is the limit.")
    too_long = next((tag for tag in wanted if len(tag) > TAG_CHARACTERS), None)
    if too_long is not None:
        raise FieldRefused(
            "tags",
            f"The tag “{too_long[:20]}…” has {len(too_long)} characters; "
            f"{TAG_CHARACTERS} is the limit. Separate tags with commas.",
        )
    kept = {row.tag: row for row in fingering.tag_rows}
    fingering.tag_rows = [kept.get(tag) or FingeringTag(tag=tag) for tag in wanted]
