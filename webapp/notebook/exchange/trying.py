"""From theirs to mine: try a fingering of somebody else's, and accept a list that came.

Trying makes an entry of the player's own, without a figure, that started from theirs: its keys and
its note stay with it, and whose they were. Theirs stays as it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, State, check_playable, format_fingering
from analysis.pitch import NoteNames, WrittenPitch
from webapp.notebook.exchange.comparing import find_lacked_keys
from webapp.notebook.exchange.documents import TheirFingering, TheirList, read_details
from webapp.notebook.exchange.received import fetch_received, fetch_sender
from webapp.notebook.fingerings.fingerings import FingeringDraft, keep_fingering
from webapp.notebook.practice.practice_targets import (
    TARGETS_AT_MOST,
    Wanted,
    append_wanted,
    load_targets,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotInNotebook, Refused
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_open_practice
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    Practice,
    ReceivedFingering,
    ReceivedInstrument,
    ReceivedList,
    ReceivedOrigin,
    Sender,
    TargetState,
)


@dataclass(frozen=True, slots=True)
class Accepted:
    """A list that was accepted: where it lies now, and what could not be taken over."""

    practice_id: int
    note_count: int
    without_fingering: int
    left_out: int = 0


def try_theirs(notebook: Notebook, received_id: int, instrument_id: int) -> int:
    """Make an entry of my own from a fingering of theirs; one that is there is not made twice.

    Returns:
        The number of my fingering.

    Raises:
        NotInNotebook: there is no such fingering or instrument.
        Refused: my instrument lacks keys of it, which are named, or hands cannot do it.
    """
    with notebook.database.writing() as session:
        received = fetch_received(session, received_id)
        instrument = fetch(session, Instrument, instrument_id)
        return _take_over(session, received_id, received.theirs, received.sender, instrument).id


def accept_list(notebook: Notebook, list_id: int, instrument_id: int) -> Accepted:
    """Put the notes of a list on the list of an open practice; one is begun where none is open.

    A fingering that my instrument can do becomes an entry of my own; other notes stand alone. As
    many as the list has room for; accepting it again takes the others.

    Raises:
        NotInNotebook: there is no such list or instrument.
        Refused: all of it is on the list already, or the list is full.
    """
    with notebook.database.writing() as session:
        row, theirs = fetch_list(session, list_id)
        sender = fetch_sender(session, row.sender_id)
        instrument = fetch(session, Instrument, instrument_id)
        wanted, missing = [], 0
        for written, uid, remark in theirs.notes:
            mine = None if uid is None else _try_listed(session, sender, uid, instrument)
            missing += uid is not None and mine is None
            wanted.append(
                Wanted(written.canonical, mine.id if mine is not None else None, note=remark)
            )
        practice = find_open_practice(session, instrument_id, now_utc())
        if practice is None:
            practice = Practice(instrument_id=instrument.id, tuning_a_hz=instrument.tuning_a_hz)
            session.add(practice)
            session.flush()
        there = load_targets(session, practice.id)
        known = {Wanted.of_row(each).known_by for each in there if each.state == TargetState.OPEN}
        new = [each for each in wanted if each.known_by not in known] or wanted
        room = max(1, TARGETS_AT_MOST - len(there))
        count = append_wanted(session, practice.id, new[:room])
        row.accepted_at = now_utc()
        return Accepted(practice.id, count, missing, len(new[room:]))


def fetch_list(session: Session, list_id: int) -> tuple[ReceivedList, TheirList]:
    """Return a list that came.

    Raises:
        NotInNotebook: there is none.
    """
    row = session.get(ReceivedList, list_id) if is_row_number(list_id) else None
    if row is None:
        raise NotInNotebook("There is no such list from anybody in this notebook.")
    return row, TheirList(read_details(row.details))


def carry_over(theirs: KeyStates, instrument: Instrument) -> KeyStates:
    """Return the same keys on the keywork of an instrument.

    Raises:
        Refused: it lacks some of them, cannot hold them so, or hands cannot as it is played.
    """
    lacked = find_lacked_keys(theirs, instrument.layout)
    if lacked:
        raise Refused(
            f"{instrument.name} has no {' and no '.join(lacked)}, which this fingering needs. "
            "Look at it as theirs, or try it on another instrument."
        )
    pressed = {
        key.id: state
        for key, state in zip(theirs.layout.keys, theirs.states, strict=True)
        if state is not State.UP
    }
    mine = KeyStates.of(instrument.layout, pressed)
    try:
        check_playable(mine)
    except AnalysisError as error:
        raise Refused(f"On {instrument.name} it can't be held. {error}") from error
    return mine


def _try_listed(
    session: Session, sender: Sender, uid: str, instrument: Instrument
) -> Fingering | None:
    query = (
        select(ReceivedFingering.id)
        .join(ReceivedFingering.instrument)
        .where(ReceivedInstrument.sender_id == sender.id, ReceivedFingering.uid == uid)
    )
    number = session.scalars(query).first()
    if number is None:
        return None
    try:
        theirs = fetch_received(session, number).theirs
        return _take_over(session, number, theirs, sender, instrument)
    except (Refused, NotInNotebook, AnalysisError):
        return None


def _take_over(
    session: Session,
    received_id: int,
    theirs: TheirFingering,
    sender: Sender,
    instrument: Instrument,
) -> Fingering:
    keys = carry_over(theirs.keys, instrument)
    written = _written_on(theirs, instrument)
    there = _find_tried(session, received_id, instrument, format_fingering(keys))
    if there:
        return there[0]
    draft = FingeringDraft(keys=keys, target=written.asking_text, strategy=theirs.strategy)
    # The target is written in its canonical form, which is English whatever the player reads.
    mine = keep_fingering(session, instrument, draft, NoteNames.ENGLISH)
    mine.base_keys_text = format_fingering(keys)
    mine.base_written_text = written.canonical
    session.add(
        ReceivedOrigin(fingering_id=mine.id, received_id=received_id, sender_name=sender.shown_name)
    )
    session.flush()
    return mine


def _find_tried(
    session: Session, received_id: int, instrument: Instrument, keys_text: str
) -> Sequence[Fingering]:
    query = (
        select(Fingering)
        .join(ReceivedOrigin, ReceivedOrigin.fingering_id == Fingering.id)
        .where(
            ReceivedOrigin.received_id == received_id,
            Fingering.instrument_id == instrument.id,
            Fingering.keys_text == keys_text,
            Fingering.deleted_at.is_(None),
        )
    )
    return session.scalars(query.order_by(Fingering.id)).all()


def _written_on(theirs: TheirFingering, instrument: Instrument) -> WrittenPitch:
    """Return their note as my parts write it: the same where both are of one kind."""
    if theirs.instrument.said["kind"] == instrument.kind_id:
        return theirs.written
    # The same keys give the same note in treble notation, whatever the clef of the parts.
    shift = instrument.kind.treble_shift_cents - theirs.instrument.kind.treble_shift_cents
    return WrittenPitch.from_cents(theirs.written.cents - shift) if shift else theirs.written
