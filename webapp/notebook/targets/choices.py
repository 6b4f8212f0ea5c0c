"""The player's word: this one is mine, an alternate, rejected; and a note's own tolerance.

A word belongs to one fingering and one note, whatever the fingering was logged for. It stays when
the measured figure changes; the judge says then what has become of it.
"""

from dataclasses import dataclass
from fractions import Fraction

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from webapp.notebook.preferences.preferences import TOLERANCE_RANGE_CENTS
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Choice,
    Circumstance,
    Fingering,
    Instrument,
    NoteTolerance,
    Role,
    exact_key,
)
from webapp.notebook.targets.facts import read_word
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.standing import Word

REASON_CHARACTERS = 500

CIRCUMSTANCE_WORDS = {
    Circumstance.ALWAYS: "",
    Circumstance.SOFT: "for soft notes",
    Circumstance.LOUD: "for loud notes",
    Circumstance.FAST: "for fast passages",
    Circumstance.TRILL: "for trills",
}


@dataclass(frozen=True, slots=True)
class WordDraft:
    """The player's word as it comes in; `target` is text as typed, empty for the note logged for.

    Without a role the word is taken back.
    """

    role: Role | None
    target: str = ""
    circumstance: Circumstance = Circumstance.ALWAYS
    reason: str = ""


def say_word(notebook: Notebook, fingering_id: int, draft: WordDraft) -> WrittenPitch:
    """Keep the player's word on a fingering for a note; it replaces what was said before.

    The fingering that was `mine` in that circumstance gives way to the new one.

    Returns:
        The note, as it was read.

    Raises:
        NotInNotebook: there is no such fingering, or it is in the bin.
        FieldRefused: the note cannot be read, or the reason is too long.
    """
    reason = draft.reason.strip()
    if len(reason) > REASON_CHARACTERS:
        raise FieldRefused(
            "reason",
            f"The reason has {len(reason)} characters; {REASON_CHARACTERS} is the limit.",
        )
    with notebook.database.writing() as session:
        fingering = fetch_fingering(session, fingering_id)
        written = fingering.written
        if draft.target.strip():
            written = read_target(draft.target, fingering.instrument)
        key = exact_key(written.cents)
        _take_back(session, fingering, key, draft)
        if draft.role is None:
            return written
        is_mine = draft.role is Role.MINE
        circumstance = draft.circumstance if is_mine else Circumstance.ALWAYS
        if is_mine:
            session.execute(
                delete(Choice).where(
                    Choice.instrument_id == fingering.instrument_id,
                    Choice.written_exact == key,
                    Choice.role == Role.MINE.value,
                    Choice.circumstance == circumstance.value,
                )
            )
        session.add(
            Choice(
                instrument_id=fingering.instrument_id,
                written_exact=key,
                fingering_id=fingering_id,
                role=draft.role.value,
                circumstance=circumstance.value,
                reason=reason,
            )
        )
        return written


def _take_back(session: Session, fingering: Fingering, key: str, draft: WordDraft) -> None:
    """Take back what the new word contradicts; `mine` in other circumstances may stand beside."""
    said = delete(Choice).where(Choice.fingering_id == fingering.id, Choice.written_exact == key)
    if draft.role is Role.MINE:
        is_other_role = Choice.role != Role.MINE.value
        is_same_case = Choice.circumstance == draft.circumstance.value
        said = said.where(is_other_role | is_same_case)
    session.execute(said)


def set_tolerance(
    notebook: Notebook, instrument_id: int, target: str, tolerance_cents: float | None
) -> WrittenPitch:
    """Give a note a tolerance of its own, or take it back; return the note, as it was read.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the note cannot be read, or the tolerance is out of its range.
    """
    low, high = TOLERANCE_RANGE_CENTS
    if tolerance_cents is not None and not low <= tolerance_cents <= high:
        raise FieldRefused(
            "tolerance_cents",
            f"A tolerance of {tolerance_cents:g} cents was entered. Give one from {low:g} to "
            f"{high:g}, or leave it empty for your usual one.",
        )
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        written = read_target(target, instrument)
        key = exact_key(written.cents)
        row = session.get(NoteTolerance, (instrument_id, key))
        if tolerance_cents is None:
            if row is not None:
                session.delete(row)
        elif row is None:
            session.add(
                NoteTolerance(
                    instrument_id=instrument_id,
                    written_exact=key,
                    tolerance_cents=tolerance_cents,
                )
            )
        else:
            row.tolerance_cents = tolerance_cents
        return written


def load_words_of(session: Session, fingering: Fingering) -> list[tuple[WrittenPitch, Word]]:
    """Return the player's words on one fingering with the note of each, by rising pitch."""
    rows: dict[str, list[Choice]] = {}
    query = select(Choice).where(Choice.fingering_id == fingering.id).order_by(Choice.id)
    for row in session.scalars(query):
        rows.setdefault(row.written_exact, []).append(row)
    words = [
        (WrittenPitch.from_cents(Fraction(key)), read_word(found)) for key, found in rows.items()
    ]
    return sorted(words, key=lambda each: each[0].cents)


def describe_word(word: Word) -> str:
    """Say the player's word as a page does: `your choice for soft notes`, `rejected: too sharp`."""
    if word.role is Role.MINE:
        when = [CIRCUMSTANCE_WORDS[each] for each in word.circumstances]
        return "your choice" if "" in when else f"your choice {' and '.join(when)}"
    return f"{word.role.value}: {word.reason}" if word.reason else word.role.value
