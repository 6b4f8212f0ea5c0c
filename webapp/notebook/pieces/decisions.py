"""Decisions of the player about a piece: settled notes, fixed and composer's fingerings.

Each is a word that no computation changes. A composer's fingering for one note is logged among the
player's own, so that it is tried and judged like any other; one for a multiphonic is kept with the
word whether it speaks, since no pitch is claimed for it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import delete, select
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.finder import Strategy
from analysis.keywork import KeyStates, check_playable, format_fingering, parse_fingering
from analysis.pitch import NoteNames, WrittenPitch, format_pitch
from webapp.notebook.fingerings.fingerings import FingeringDraft, keep_fingering
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import fetch, fetch_fingering, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    ChosenPassage,
    ComposerFingering,
    Fingering,
    FixedFingering,
    FixKind,
    Instrument,
    Piece,
    SettledNote,
    Settlement,
    exact_key,
)
from webapp.notebook.targets.reading import read_pitch

REASON_CHARACTERS = 2000
COMPOSERS_TAG = "composer's"
MOST_TOGETHER = 8
_ANYWHERE = -1


Where = tuple[int, Fraction, WrittenPitch | None, WrittenPitch | None]
"""A place in a part: bar (index), onset, the notes before and after."""


@dataclass(frozen=True, slots=True)
class Decisions:
    """Decisions of the player about a piece on one instrument."""

    settled: tuple[SettledNote, ...] = ()
    fixed: tuple[FixedFingering, ...] = ()
    composers: tuple[ComposerFingering, ...] = ()
    passages: tuple[ChosenPassage, ...] = ()

    @property
    def last_change(self) -> datetime | None:
        """When the newest of them was made; None where there are none."""
        moments = [
            *(each.created_at for each in self.settled),
            *(each.created_at for each in self.fixed),
            *(each.created_at for each in self.composers),
            *(each.shown_at for each in self.passages),
        ]
        return max(moments, default=None)

    def settled_note(self, written: WrittenPitch) -> SettledNote | None:
        """Return the word that settles a note, or None."""
        key = exact_key(written.cents)
        return next((each for each in self.settled if each.written_exact == key), None)

    def composers_for(self, pitches: Iterable[WrittenPitch]) -> tuple[ComposerFingering, ...]:
        """Return the composer's fingerings for a note or a multiphonic."""
        cents = sorted(each.cents for each in pitches)
        return tuple(
            each
            for each in self.composers
            if sorted(pitch.cents for pitch in each.written) == cents
        )

    def fixed_for(self, written: WrittenPitch) -> tuple[FixedFingering, ...]:
        """Return what is fixed for a note, wherever it is."""
        key = exact_key(written.cents)
        return tuple(each for each in self.fixed if each.written_exact == key)


@dataclass(frozen=True, slots=True)
class FixPlace:
    """Which notes a fingering is fixed for.

    By default every note of that height; with `bar` (index) and `onset` (quarter notes) the one
    there; with `before` or `after` that height between these.
    """

    written: WrittenPitch
    bar: int | None = None
    onset: Fraction = Fraction(0)
    before: WrittenPitch | None = None
    after: WrittenPitch | None = None

    @property
    def kind(self) -> FixKind:
        """Which kind of place it is."""
        if self.bar is not None:
            return FixKind.NOTE
        is_pattern = self.before is not None or self.after is not None
        return FixKind.PATTERN if is_pattern else FixKind.PITCH


def load_decisions(session: Session, piece_id: int, instrument_id: int) -> Decisions:
    """Return what the player decided about a piece on one instrument; four queries."""
    settled = select(SettledNote).where(
        SettledNote.piece_id == piece_id, SettledNote.instrument_id == instrument_id
    )
    fixed = (
        select(FixedFingering)
        .join(FixedFingering.fingering)
        .where(
            FixedFingering.piece_id == piece_id,
            FixedFingering.instrument_id == instrument_id,
            Fingering.deleted_at.is_(None),
        )
        .options(joinedload(FixedFingering.fingering))
        .order_by(FixedFingering.id)
    )
    composers = (
        select(ComposerFingering)
        .where(
            ComposerFingering.piece_id == piece_id,
            ComposerFingering.instrument_id == instrument_id,
        )
        .options(joinedload(ComposerFingering.fingering))
        .order_by(ComposerFingering.id)
    )
    return Decisions(
        tuple(session.scalars(settled)),
        tuple(session.scalars(fixed)),
        tuple(session.scalars(composers)),
        load_passages(session, piece_id, instrument_id),
    )


def load_passages(session: Session, piece_id: int, instrument_id: int) -> tuple[ChosenPassage, ...]:
    """Return the passages of a piece on an instrument, in the order of bars; one query."""
    query = select(ChosenPassage).where(
        ChosenPassage.piece_id == piece_id, ChosenPassage.instrument_id == instrument_id
    )
    return tuple(session.scalars(query.order_by(ChosenPassage.first_bar, ChosenPassage.last_bar)))


def find_fixed(fixed: Sequence[FixedFingering], here: Where) -> FixedFingering | None:
    """Return what is fixed for a place: of the note there, of its pattern, of its pitch."""
    bar, onset, before, after = here
    for each in fixed:
        if each.kind == FixKind.NOTE and (each.bar, Fraction(each.onset or 0)) == (bar, onset):
            return each
    beside = tuple("" if pitch is None else exact_key(pitch.cents) for pitch in (before, after))
    for each in fixed:
        wanted = (each.before_exact, each.after_exact)
        fits = all(not text or text == there for text, there in zip(wanted, beside, strict=True))
        if each.kind == FixKind.PATTERN and fits:
            return each
    return next((each for each in fixed if each.kind == FixKind.PITCH), None)


def settle(
    notebook: Notebook,
    piece_id: int,
    instrument_id: int,
    written: WrittenPitch,
    how: Settlement,
    reason: str = "",
) -> None:
    """Keep the player's word that a note is settled, and why; the last word counts.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: the reason is too long.
    """
    if len(reason) > REASON_CHARACTERS:
        raise FieldRefused("reason", f"At most {REASON_CHARACTERS} characters. Shorten it.")
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        fetch(session, Instrument, instrument_id)
        key = (piece_id, instrument_id, exact_key(written.cents))
        row = session.get(SettledNote, key)
        if row is None:
            row = SettledNote(piece_id=piece_id, instrument_id=instrument_id, written_exact=key[2])
            session.add(row)
        row.how, row.reason, row.created_at = how.value, reason.strip(), now_utc()


def open_again(
    notebook: Notebook, piece_id: int, instrument_id: int, written: WrittenPitch
) -> None:
    """Take back the word that a note is settled.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        session.execute(
            delete(SettledNote).where(
                SettledNote.piece_id == piece_id,
                SettledNote.instrument_id == instrument_id,
                SettledNote.written_exact == exact_key(written.cents),
            )
        )


def fix(notebook: Notebook, piece_id: int, fingering_id: int, place: FixPlace) -> int:
    """Fix a fingering for notes of a piece, in place of what was fixed there; return its number.

    Raises:
        NotInNotebook: there is no such piece or fingering.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        fingering = fetch_fingering(session, fingering_id)
        row = FixedFingering(
            piece_id=piece_id,
            instrument_id=fingering.instrument_id,
            kind=place.kind.value,
            written_exact=exact_key(place.written.cents),
            bar=_ANYWHERE if place.bar is None else place.bar,
            onset="" if place.bar is None else str(place.onset),
            before_exact="" if place.before is None else exact_key(place.before.cents),
            after_exact="" if place.after is None else exact_key(place.after.cents),
            fingering_id=fingering_id,
        )
        names = ("piece_id", "instrument_id", "kind", "written_exact", "bar", "onset",
                 "before_exact", "after_exact")  # fmt: skip
        there = [getattr(FixedFingering, name) == getattr(row, name) for name in names]
        session.execute(delete(FixedFingering).where(*there))
        session.add(row)
        session.flush()
        return row.id


def unfix(notebook: Notebook, piece_id: int, fixed_id: int) -> None:
    """Let go of a fixed fingering.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        if is_row_number(fixed_id):
            session.execute(
                delete(FixedFingering).where(
                    FixedFingering.piece_id == piece_id, FixedFingering.id == fixed_id
                )
            )


def enter_composers_fingering(
    notebook: Notebook, piece_id: int, instrument_id: int, notes: str, keys_text: str
) -> int:
    """Keep a fingering printed in the part, for a note or for a multiphonic; return its number.

    `notes` is one note, or several with `&` between them. That of one note is logged among the
    player's fingerings, or the one that is logged with these keys is taken.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: notes or keys cannot be read, or the hands cannot do it.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        instrument = fetch(session, Instrument, instrument_id)
        names = find_preferences(session).names
        pitches = _read_notes(session, instrument, notes, names)
        keys = _read_keys(instrument, keys_text)
        row = _find_composers(session, piece_id, instrument_id, pitches, format_fingering(keys))
        if len(pitches) == 1:
            row.fingering_id = _log(session, instrument, pitches[0], keys, names)
        session.flush()
        return row.id


def _find_composers(
    session: Session,
    piece_id: int,
    instrument_id: int,
    pitches: tuple[WrittenPitch, ...],
    keys_text: str,
) -> ComposerFingering:
    """Return the row of a composer's fingering, a new one where there is none."""
    text = " ".join(each.canonical for each in pitches)
    row = session.scalars(
        select(ComposerFingering).where(
            ComposerFingering.piece_id == piece_id,
            ComposerFingering.instrument_id == instrument_id,
            ComposerFingering.pitches == text,
            ComposerFingering.keys_text == keys_text,
        )
    ).first()
    if row is None:
        row = ComposerFingering(
            piece_id=piece_id, instrument_id=instrument_id, pitches=text, keys_text=keys_text
        )
        session.add(row)
    return row


def _read_notes(
    session: Session, instrument: Instrument, notes: str, names: NoteNames
) -> tuple[WrittenPitch, ...]:
    typed = [each for each in notes.split("&") if each.strip()]
    if not 1 <= len(typed) <= MOST_TOGETHER:
        raise FieldRefused(
            "notes", "Type the note, or the notes of a multiphonic with & between: C5 & A5."
        )
    system = find_preferences(session).accidentals
    read = [read_pitch(each, instrument, names, field="notes", system=system) for each in typed]
    return tuple(sorted(read, key=lambda each: each.cents))


def _read_keys(instrument: Instrument, keys_text: str) -> KeyStates:
    try:
        keys = parse_fingering(keys_text, instrument.layout)
        check_playable(keys)
    except AnalysisError as error:
        raise FieldRefused("keys", str(error)) from error
    return keys


def _log(
    session: Session,
    instrument: Instrument,
    written: WrittenPitch,
    keys: KeyStates,
    names: NoteNames,
) -> int:
    """Return the player's fingering with these keys for the note; a new one where there is none."""
    query = select(Fingering.id).where(
        Fingering.instrument_id == instrument.id,
        Fingering.deleted_at.is_(None),
        Fingering.keys_text == format_fingering(keys),
        Fingering.target_text == written.canonical,
    )
    there = session.scalars(query.order_by(Fingering.id)).first()
    if there is not None:
        return there
    draft = FingeringDraft(
        keys=keys,
        target=format_pitch(written, names=names),
        strategy=Strategy.FOUND,
        tags=(COMPOSERS_TAG,),
    )
    return keep_fingering(session, instrument, draft, names).id


def say_it_speaks(
    notebook: Notebook, piece_id: int, composers_id: int, *, speaks: bool | None
) -> None:
    """Keep whether a multiphonic speaks with the composer's fingering; None is not tried.

    Raises:
        NotInNotebook: there is no such piece or fingering.
    """
    with notebook.database.writing() as session:
        _fetch_composers(session, piece_id, composers_id).speaks = speaks


def remove_composers_fingering(notebook: Notebook, piece_id: int, composers_id: int) -> None:
    """Take a composer's fingering off a piece; the one that was logged for it stays.

    Raises:
        NotInNotebook: there is no such piece or fingering.
    """
    with notebook.database.writing() as session:
        session.delete(_fetch_composers(session, piece_id, composers_id))


def _fetch_composers(session: Session, piece_id: int, composers_id: int) -> ComposerFingering:
    fetch(session, Piece, piece_id)
    row = session.get(ComposerFingering, composers_id) if is_row_number(composers_id) else None
    if row is None or row.piece_id != piece_id:
        raise NotInNotebook("This fingering is no longer with the piece. Load the page again.")
    return row
