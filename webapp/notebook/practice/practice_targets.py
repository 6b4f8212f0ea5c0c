"""The list of a practice: what is to be played, in which order, and what became of it.

A target stands on the list by itself (typed, or a gap), with a fingering that waits for a
recording, or with a suggestion of the try list. Nothing is computed here: gaps are read from what
is measured.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Self

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.pitch import NoteNames, WrittenPitch
from webapp.notebook.finder.plans import PlanOrder, choose_targets, find_solved
from webapp.notebook.loops.loops import read_pair
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.fetching import is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_open_practice
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    LoopPair,
    PracticeTarget,
    Suggestion,
    TargetState,
    TryState,
)
from webapp.notebook.targets.reading import read_target

TARGETS_AT_MOST = 60
NOTE_CHARACTERS = 2000
# A comma between digits is a decimal one, as in 566,2 Hz.
_BETWEEN_PITCHES = re.compile(r"[\n;]|,(?!\d)|(?<!\d),")


KnownBy = tuple[str, int | None, int | None, LoopPair | None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something to be put on a list."""

    target_text: str
    fingering_id: int | None = None
    suggestion_id: int | None = None
    note: str = ""
    loop: LoopPair | None = None

    @classmethod
    def of_loop(cls, pair: LoopPair, note: str = "") -> Self:
        """Want a loop of two fingerings."""
        return cls(pair.lower_text, note=note, loop=pair)

    @classmethod
    def of_row(cls, row: PracticeTarget) -> Self:
        """Say what stands on a list."""
        if row.loop is not None:
            return cls.of_loop(row.loop)
        return cls(row.target_text, row.fingering_id, row.suggestion_id)

    @property
    def known_by(self) -> KnownBy:
        """What makes it the same thing on a list, however its note was spelled."""
        note = WrittenPitch.from_canonical(self.target_text).canonical
        return note, self.fingering_id, self.suggestion_id, self.loop


def load_targets(session: Session, practice_id: int) -> tuple[PracticeTarget, ...]:
    """Return the list of a practice in its order; one query for the list and what it names."""
    query = (
        select(PracticeTarget)
        .where(PracticeTarget.practice_id == practice_id)
        .options(joinedload(PracticeTarget.fingering), joinedload(PracticeTarget.suggestion))
        .order_by(PracticeTarget.position, PracticeTarget.id)
    )
    return tuple(session.scalars(query))


def find_last_target(notebook: Notebook, practice_id: int) -> int | None:
    """Return the number of what stands last on the list of a practice; None where it is empty."""
    with notebook.database.reading() as session:
        rows = load_targets(session, practice_id)
    return rows[-1].id if rows else None


def add_typed(notebook: Notebook, practice_id: int, text: str, *, names: NoteNames) -> int:
    """Put typed pitches on the list and return how many are new.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over.
        FieldRefused: one of them cannot be read (it is named with its place), or the list is full.
    """
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        wanted = [
            Wanted(_read(session, text, typed, place, practice.instrument, names).kept_text)
            for place, typed in enumerate(_split(text), start=1)
        ]
        if not wanted:
            raise FieldRefused("targets", "Type at least one pitch, such as D quarter-flat 5.")
        return append_wanted(session, practice_id, wanted, field="targets")


def add_notes(notebook: Notebook, practice_id: int, notes: Sequence[str]) -> int:
    """Put notes, given by their canonical text, on the list and return how many are new.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over, or the list is full.
        FieldRefused: one of them is no note, or all of them are on the list.
    """
    with notebook.database.writing() as session:
        fetch_open_practice(session, practice_id)
        try:
            wanted = [Wanted(WrittenPitch.from_canonical(each).canonical) for each in notes]
        except AnalysisError as error:
            raise FieldRefused("note", "One of these is no note. Open the plan again.") from error
        return append_wanted(session, practice_id, wanted)


def add_gaps(
    notebook: Notebook, practice_id: int, order: PlanOrder, *, count: int, names: NoteNames
) -> int:
    """Put the lowest gaps of a range on the list and return how many.

    A gap is a step of the grid that is not solved and that is not on the list yet.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over.
        FieldRefused: the range or the number cannot be used, there is no gap, or the list is full.
    """
    if not 1 <= count <= TARGETS_AT_MOST:
        raise FieldRefused("count", f"Take from 1 to {TARGETS_AT_MOST} gaps at a time.")
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        steps = choose_targets(practice.instrument, order, names)
        solved = set(find_solved(session, practice.instrument, steps))
        listed = {
            WrittenPitch.from_canonical(row.target_text).cents
            for row in load_targets(session, practice_id)
            if row.state == TargetState.OPEN and row.loop is None
        }
        gaps = [each for each in steps if each not in solved and each.cents not in listed]
        if not gaps:
            raise FieldRefused(
                "low", "Every step of this range is solved or on the list. Widen the range."
            )
        wanted = [Wanted(each.canonical) for each in gaps[:count]]
        return append_wanted(session, practice_id, wanted, field="count")


def add_tries(notebook: Notebook, practice_id: int) -> int:
    """Put what waits on the try list on the list of a practice and return how many are new.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over, nothing waits, or the list is full.
    """
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        query = select(Suggestion).where(
            Suggestion.instrument_id == practice.instrument_id,
            Suggestion.state == TryState.WAITING.value,
        )
        wanted = [
            Wanted(row.target_text, suggestion_id=row.id)
            for row in session.scalars(query.order_by(Suggestion.id))
        ]
        if not wanted:
            raise Refused("Nothing waits on the try list. Put there what you want to try first.")
        return append_wanted(session, practice_id, wanted)


def add_unmeasured(notebook: Notebook, practice_id: int) -> int:
    """Put the fingerings that wait for a recording on the list and return how many are new.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over, nothing waits, or the list is full.
    """
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        query = select(Fingering).where(
            Fingering.instrument_id == practice.instrument_id,
            Fingering.deleted_at.is_(None),
            Fingering.does_not_speak.is_(False),
            Fingering.take_count == 0,
        )
        order = (Fingering.written_cents, Fingering.id)
        room = TARGETS_AT_MOST + 1
        rows = session.scalars(query.order_by(*order).limit(room))
        wanted = [Wanted(row.written.kept_text, fingering_id=row.id) for row in rows]
        if not wanted:
            raise Refused("Every fingering of this instrument has been recorded.")
        return append_wanted(session, practice_id, wanted)


def add_loop(
    notebook: Notebook, practice_id: int, ends: tuple[tuple[str, str], tuple[str, str]]
) -> int:
    """Put a loop on the list and return how many are new.

    `ends` are the two notes in canonical text, each with its keys.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over, or the list is full.
        FieldRefused: the pair cannot be read, or is on the list.
    """
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        wanted = [Wanted.of_loop(read_pair(practice.instrument, *ends))]
        return append_wanted(session, practice_id, wanted)


def move_target(notebook: Notebook, target_id: int, *, is_up: bool) -> int:
    """Move a target one place up or down; return the number of its practice.

    Raises:
        NotInNotebook: there is no such target.
        Refused: its practice is over.
    """
    with notebook.database.writing() as session:
        row = _fetch_target(session, target_id)
        rows = list(load_targets(session, row.practice_id))
        place = rows.index(row)
        other = place - 1 if is_up else place + 1
        if 0 <= other < len(rows):
            rows[place], rows[other] = rows[other], rows[place]
        for position, each in enumerate(rows, start=1):
            each.position = position
        return row.practice_id


def remove_target(notebook: Notebook, target_id: int) -> int:
    """Take a target off its list; return the number of its practice.

    Raises:
        NotInNotebook: there is no such target.
        Refused: its practice is over.
    """
    with notebook.database.writing() as session:
        row = _fetch_target(session, target_id)
        session.delete(row)
        return row.practice_id


def settle_target(
    notebook: Notebook, target_id: int, state: TargetState, *, note: str | None = None
) -> PracticeTarget:
    """Mark a target done or skipped, or open it again; a note left out stays as it is.

    Raises:
        NotInNotebook: there is no such target.
        Refused: its practice is over.
    """
    with notebook.database.writing() as session:
        row = _fetch_target(session, target_id)
        row.state = state.value
        if note is not None:
            row.note = note.strip()[:NOTE_CHARACTERS]
        return row


def _split(text: str) -> Iterator[str]:
    parts = (part.strip() for part in _BETWEEN_PITCHES.split(text))
    return (part for part in parts if part)


def _read(
    session: Session,
    text: str,
    typed: str,
    place: int,
    instrument: Instrument,
    names: NoteNames,
) -> WrittenPitch:
    """Read one of several; what may have been meant is offered as the whole text with it."""
    system = find_preferences(session).accidentals
    try:
        return read_target(typed, instrument, names, system=system)
    except FieldRefused as error:
        choices = tuple((text.replace(typed, meant, 1), meant) for meant, _ in error.choices)
        message = f"Note {place}, “{typed[:40]}”: {error}"
        raise FieldRefused("targets", message, choices) from error


def append_wanted(
    session: Session, practice_id: int, wanted: Sequence[Wanted], *, field: str = ""
) -> int:
    """Put what is not on the list yet behind the rest, and return how much that is.

    Raises:
        FieldRefused: all of it is on the list already, or the list would be too long.
    """
    rows = load_targets(session, practice_id)
    new = _find_new(rows, wanted)
    if not new:
        raise FieldRefused(field, "All of this is on the list already.")
    if len(rows) + len(new) > TARGETS_AT_MOST:
        raise FieldRefused(
            field,
            f"The list holds {len(rows)} targets and would hold {len(rows) + len(new)}; "
            f"{TARGETS_AT_MOST} is the limit of a session. Take fewer, or remove some.",
        )
    last = max((row.position for row in rows), default=0)
    for position, each in enumerate(new, start=last + 1):
        session.add(
            PracticeTarget(
                practice_id=practice_id,
                position=position,
                target_text=each.target_text,
                fingering_id=each.fingering_id,
                suggestion_id=each.suggestion_id,
                keys_text=each.loop.lower_keys_text if each.loop else None,
                second_text=each.loop.upper_text if each.loop else None,
                second_keys_text=each.loop.upper_keys_text if each.loop else None,
                note=each.note[:NOTE_CHARACTERS],
            )
        )
    return len(new)


def _find_new(rows: Collection[PracticeTarget], wanted: Sequence[Wanted]) -> list[Wanted]:
    listed = {Wanted.of_row(row).known_by for row in rows if row.state == TargetState.OPEN}
    new: dict[KnownBy, Wanted] = {}
    for each in wanted:
        new.setdefault(each.known_by, each)
    return [each for key, each in new.items() if key not in listed]


def _fetch_target(session: Session, target_id: int) -> PracticeTarget:
    row = session.get(PracticeTarget, target_id) if is_row_number(target_id) else None
    if row is None:
        raise NotInNotebook(
            f"There is no target number {target_id} on a practice list. It may have been taken off "
            "in another window."
        )
    fetch_open_practice(session, row.practice_id)
    return row
