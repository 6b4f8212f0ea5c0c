"""Sorting takes: where a take belongs, by the player's word, and the way back.

A take that does not count waits for one word: it counts after all, the same keys sounded in another
register, it was another fingering, or a slip (that one goes to the bin). An unsorted take waits for
a fingering. Each verb returns what was there before, which `undo_sorting` puts back.
"""

from dataclasses import dataclass
from typing import IO

from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from analysis.pitch import NoteNames, WrittenPitch, format_pitch
from analysis.recording import TakeStanding
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.fetching import fetch, fetch_fingering, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.evidence import refresh_evidence
from webapp.notebook.takes.likeness import nearest_written
from webapp.notebook.takes.takes import TakeNote, attach_unsorted, refuse_twin
from webapp.notebook.targets.reading import read_target

# These stand where they were played: the player's word counts them there.
_COUNTED_IN_PLACE = frozenset(
    {TakeStanding.SCATTERED, TakeStanding.LOST_SOUND, TakeStanding.WATCHED}
)


@dataclass(frozen=True, slots=True)
class Sorting:
    """What was done with a take, and all that is needed to undo it.

    `from_id` is the fingering it came from (None: it was unsorted), `to_id` where it is now,
    `made_id` a fingering that was made for it, `moved_from` the note that a whole fingering was
    logged for before it was moved.
    """

    take_id: int
    from_id: int | None
    to_id: int | None
    was_confirmed: bool = False
    made_id: int | None = None
    moved_from: str | None = None


def keep_unsorted(
    notebook: Notebook,
    instrument_id: int,
    upload: IO[bytes],
    note: TakeNote,
    *,
    meant: str = "",
    names: NoteNames = NoteNames.ENGLISH,
) -> int:
    """Keep and measure a recording without a fingering; `meant` is the note that was to sound.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the note cannot be read.
        ClipRefused, DuplicateClip: as for `attach_take`.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
    written = read_target(meant, instrument, names, field="meant") if meant.strip() else None
    return attach_unsorted(notebook, instrument_id, upload, note, written)


def count_take(notebook: Notebook, take_id: int) -> Sorting:
    """Let a take count that does not.

    One that lies near the others counts where it is. One of another note gets an entry of its own
    where other takes count, and else the whole entry moves to the note that sounded.

    Raises:
        NotInNotebook: there is no such take.
        Refused: it has no pitch, or belongs to no fingering.
        DuplicateClip: the entry that it would go to has this very recording already.
    """
    with notebook.database.writing() as session:
        take, fingering = _fetch_sorted(session, take_id)
        if TakeStanding(take.standing) in _COUNTED_IN_PLACE:
            return _confirm(session, take, fingering)
        if fingering.take_count > 0 and not take.counts:
            return _move_to_own_entry(session, take, fingering)
        return _move_whole(session, take, fingering)


def confirm_take(notebook: Notebook, take_id: int) -> Sorting:
    """Let a take count where it is, for the note that its fingering was logged for.

    Raises:
        NotInNotebook: there is no such take.
        Refused: it has no pitch, or belongs to no fingering.
    """
    with notebook.database.writing() as session:
        take, fingering = _fetch_sorted(session, take_id)
        return _confirm(session, take, fingering)


def move_to_own_entry(notebook: Notebook, take_id: int) -> Sorting:
    """Give a take an entry of its own: the same keys, in the register that sounded.

    Raises:
        NotInNotebook: there is no such take.
        Refused: it has no pitch, or belongs to no fingering.
        DuplicateClip: the entry that it would go to has this very recording already.
    """
    with notebook.database.writing() as session:
        take, fingering = _fetch_sorted(session, take_id)
        return _move_to_own_entry(session, take, fingering)


def move_entry(notebook: Notebook, take_id: int) -> Sorting:
    """Log the whole fingering of a take for the note that the take sounded.

    Raises:
        NotInNotebook: there is no such take.
        Refused: it has no pitch, or belongs to no fingering.
    """
    with notebook.database.writing() as session:
        take, fingering = _fetch_sorted(session, take_id)
        return _move_whole(session, take, fingering)


def give_take(notebook: Notebook, take_id: int, fingering_id: int) -> Sorting:
    """Give a take, sorted or not, to another fingering of its instrument.

    Raises:
        NotInNotebook: there is no such take or fingering.
        FieldRefused: the fingering is one of another instrument.
        DuplicateClip: the fingering has this very recording already.
    """
    with notebook.database.writing() as session:
        return give_take_within(session, take_id, fingering_id)


def give_take_within(session: Session, take_id: int, fingering_id: int) -> Sorting:
    """Give a take to a fingering within a transaction that may do more; see `give_take`."""
    take = fetch(session, Take, take_id, selectinload(Take.measurements))
    fingering = fetch_fingering(session, fingering_id)
    if fingering.instrument_id != take.instrument_id:
        raise FieldRefused("fingering", "Choose a fingering of the instrument that was played.")
    return _give(session, take, fingering)


def undo_sorting(notebook: Notebook, done: Sorting) -> None:
    """Put a take back where it was; a fingering made for it goes to the bin if it has no other.

    Raises:
        NotInNotebook: the take or its fingering is gone.
        DuplicateClip: the same recording was attached there since.
    """
    with notebook.database.writing() as session:
        take = fetch(session, Take, done.take_id, selectinload(Take.measurements))
        _refuse_strangers(session, take, done)
        changed = {number for number in (take.fingering_id, done.from_id) if number is not None}
        _put(session, take, done.from_id)
        take.is_confirmed = done.was_confirmed
        if done.from_id is None:
            take.standing = TakeStanding.COUNTS.value
        if done.moved_from is not None and done.to_id is not None:
            fingering = fetch_fingering(session, done.to_id)
            _aim(fingering, WrittenPitch.from_canonical(done.moved_from))
        session.flush()
        if done.made_id is not None:
            made = fetch(session, Fingering, done.made_id, with_binned=True)
            if not _count_takes(session, made.id):
                made.deleted_at = now_utc()
        for number in sorted(changed):
            refresh_evidence(session, fetch(session, Fingering, number, with_binned=True))


def _refuse_strangers(session: Session, take: Take, done: Sorting) -> None:
    """Refuse to undo what was not done last: every fingering is of the take's instrument."""
    numbers = {each for each in (done.from_id, done.to_id, done.made_id) if each is not None}
    query = select(func.count()).where(
        Fingering.id.in_(numbers), Fingering.instrument_id == take.instrument_id
    )
    is_possible = all(map(is_row_number, numbers)) and take.fingering_id == done.to_id
    if not is_possible or (session.scalar(query) or 0) < len(numbers):
        raise Refused(
            "This can no longer be undone from here: the take was sorted again since. Open it to "
            "say where it belongs."
        )


def _fetch_sorted(session: Session, take_id: int) -> tuple[Take, Fingering]:
    take = fetch(session, Take, take_id, selectinload(Take.measurements))
    if take.fingering_id is None:
        raise Refused("This take belongs to no fingering yet. Give it to one first.")
    if take.sounding is None:
        raise Refused("No pitch was found in this take, so it cannot count.")
    return take, fetch_fingering(session, take.fingering_id)


def _confirm(session: Session, take: Take, fingering: Fingering) -> Sorting:
    done = Sorting(take.id, fingering.id, fingering.id, take.is_confirmed)
    take.is_confirmed = True
    session.flush()
    refresh_evidence(session, fingering)
    return done


def _move_to_own_entry(session: Session, take: Take, fingering: Fingering) -> Sorting:
    written = _written_of(take, fingering.instrument)
    there = session.scalars(
        select(Fingering).where(
            Fingering.instrument_id == fingering.instrument_id,
            Fingering.keys_text == fingering.keys_text,
            Fingering.target_text == written.canonical,
            Fingering.deleted_at.is_(None),
        )
    ).first()
    made = there or _copy(session, fingering, written)
    done = _give(session, take, made)
    return Sorting(
        done.take_id,
        done.from_id,
        done.to_id,
        done.was_confirmed,
        made_id=None if there is not None else made.id,
    )


def _move_whole(session: Session, take: Take, fingering: Fingering) -> Sorting:
    done = Sorting(
        take.id, fingering.id, fingering.id, take.is_confirmed, moved_from=fingering.target_text
    )
    _aim(fingering, _written_of(take, fingering.instrument))
    take.is_confirmed = True
    session.flush()
    refresh_evidence(session, fingering)
    return done


def _give(session: Session, take: Take, fingering: Fingering) -> Sorting:
    done = Sorting(take.id, take.fingering_id, fingering.id, take.is_confirmed)
    before = take.fingering_id
    _put(session, take, fingering.id)
    take.is_confirmed = False
    session.flush()
    for number in {before, fingering.id} - {None}:
        assert number is not None
        refresh_evidence(session, fetch(session, Fingering, number, with_binned=True))
    return done


def _put(session: Session, take: Take, fingering_id: int | None) -> None:
    """Let a take belong to a fingering, or to its instrument alone, where its clip is not yet."""
    with session.no_autoflush:
        take.fingering_id = fingering_id
        refuse_twin(session, take)


def _copy(session: Session, fingering: Fingering, written: WrittenPitch) -> Fingering:
    """Make an entry with the same keys for another note; what was judged by hand is not copied."""
    made = Fingering(
        instrument=fingering.instrument,
        instrument_id=fingering.instrument_id,
        keys_text=fingering.keys_text,
        strategy=fingering.strategy,
        base_id=fingering.base_id,
        base_keys_text=fingering.base_keys_text,
        base_written_text=fingering.base_written_text,
        has_half_hole=fingering.has_half_hole,
        hole_signature=fingering.hole_signature,
        ease=fingering.ease,
        tag_rows=[],
    )
    _aim(made, written)
    made.target_typed = format_pitch(written, names=find_preferences(session).names)
    made.sounding_cents = made.target_cents
    session.add(made)
    session.flush()
    return made


def _aim(fingering: Fingering, written: WrittenPitch) -> None:
    """Log a fingering for another note."""
    fingering.target_text = written.canonical
    fingering.target_sign = None if written.sign_cents is None else str(written.sign_cents)
    fingering.target_typed = written.canonical
    fingering.written_cents = float(written.cents)
    fingering.target_cents = fingering.instrument.transposition.to_sounding(written).cents


def _written_of(take: Take, instrument: Instrument) -> WrittenPitch:
    written = nearest_written(take, instrument)
    assert written is not None  # `_fetch_sorted` has seen a pitch
    return read_target(written.canonical, instrument)


def _count_takes(session: Session, fingering_id: int) -> int:
    query = select(func.count()).select_from(Take).where(Take.fingering_id == fingering_id)
    return session.scalar(query) or 0
