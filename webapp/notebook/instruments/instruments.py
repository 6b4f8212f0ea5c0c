"""Instruments: add, change, open, list."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.keywork import RightThumb, right_thumb_choices
from analysis.pitch import (
    KINDS,
    Sentence,
    Tuning,
    WrittenPitch,
    parse_pitch,
    resolve_written,
)
from webapp.notebook.instruments.layouts import find_layout
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.derived import refresh_from_keys
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import fetch, raise_version
from webapp.notebook.store.note_refusals import NoteRefused, refuse_text
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.takes.evidence import refresh_evidence

# In treble notation; higher nothing is played.
_HIGHEST = WrittenPitch.from_canonical("C7")


@dataclass(frozen=True, slots=True)
class InstrumentDraft:
    """An instrument as the player describes it; `highest` is the top of its range as typed.

    Kind and layout are chosen as one, so a refusal of either names the field `model`.
    `right_thumb` is a value of `analysis.keywork.RightThumb`, or empty for what is usual.
    """

    name: str
    kind_id: str
    layout_id: str
    tuning_a_hz: float
    highest: str = ""
    right_thumb: str = ""
    mouthpiece: str = ""
    reed: str = ""
    barrel: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True)
class InstrumentSummary:
    """An instrument with what the notebook holds for it."""

    instrument: Instrument
    fingering_count: int
    measured_count: int


def list_instruments(notebook: Notebook) -> tuple[InstrumentSummary, ...]:
    """Return the instruments that are not in the bin, in the order in which they were added."""
    with notebook.database.reading() as session:
        return summarise_instruments(session)


def summarise_instruments(session: Session) -> tuple[InstrumentSummary, ...]:
    """Return the same within a transaction that reads more."""
    query = (
        select(
            Instrument,
            func.count(Fingering.id),
            func.count(Fingering.id).filter(Fingering.take_count > 0),
        )
        .outerjoin(
            Fingering,
            (Fingering.instrument_id == Instrument.id) & Fingering.deleted_at.is_(None),
        )
        .where(Instrument.deleted_at.is_(None))
        .group_by(Instrument.id)
        .order_by(Instrument.id)
    )
    return tuple(InstrumentSummary(*row) for row in session.execute(query))


def choose_instruments(notebook: Notebook) -> tuple[Instrument, ...]:
    """Return the instruments alone, without counting their fingerings."""
    with notebook.database.reading() as session:
        return load_instruments(session)


def load_instruments(session: Session) -> tuple[Instrument, ...]:
    """Return the same within a transaction that reads more."""
    query = select(Instrument).where(Instrument.deleted_at.is_(None)).order_by(Instrument.id)
    return tuple(session.scalars(query))


def open_instrument(notebook: Notebook, instrument_id: int) -> Instrument:
    """Return one instrument.

    Raises:
        NotInNotebook: there is no such instrument, or it is in the bin.
    """
    with notebook.database.reading() as session:
        return fetch(session, Instrument, instrument_id)


def add_instrument(notebook: Notebook, draft: InstrumentDraft) -> int:
    """Keep a new instrument and return its number.

    Raises:
        FieldRefused: kind, layout or tuning A cannot be kept.
    """
    with notebook.database.writing() as session:
        return keep_instrument(session, draft).id


def keep_instrument(session: Session, draft: InstrumentDraft) -> Instrument:
    """Keep a new instrument within a transaction that may do more.

    Raises:
        FieldRefused: kind, layout or tuning A cannot be kept.
    """
    instrument = Instrument()
    _fill(session, instrument, draft)
    session.add(instrument)
    session.flush()
    return instrument


def change_instrument(
    notebook: Notebook, instrument_id: int, draft: InstrumentDraft, *, seen_version: int
) -> None:
    """Change an instrument; its fingerings keep their written targets and sound as it sounds now.

    Raises:
        NotInNotebook, StaleEdit.
        FieldRefused: a field cannot be kept, or another key layout was chosen while fingerings are
            logged on the present one.
    """
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        raise_version(instrument, seen_version)
        fingerings = list(
            session.scalars(
                select(Fingering)
                .where(Fingering.instrument_id == instrument_id)
                .options(joinedload(Fingering.instrument))
            )
        )
        if fingerings and draft.layout_id != instrument.layout_id:
            raise FieldRefused(
                "model",
                f"{len(fingerings)} fingerings (with those in the bin) are logged on the keywork "
                "of this instrument. Another layout needs a new instrument.",
            )
        shift_cents = instrument.kind.treble_shift_cents
        thumb = instrument.layout.right_thumb
        _fill(session, instrument, draft)
        if fingerings and instrument.kind.treble_shift_cents != shift_cents:
            raise FieldRefused(
                "model",
                "The targets of this instrument are written in another clef, an octave apart. "
                "The other notation needs an instrument of its own.",
            )
        _transpose(session, instrument, fingerings)
        if instrument.layout.right_thumb is not thumb:
            refresh_from_keys(fingerings)


def _fill(session: Session, instrument: Instrument, draft: InstrumentDraft) -> None:
    kind = KINDS.get(draft.kind_id)
    if kind is None:
        raise FieldRefused("model", "This kind of instrument is not known. Choose one of the list.")
    try:
        layout, own = find_layout(session, draft.layout_id)
    except NotInNotebook as error:
        raise FieldRefused("model", str(error)) from error
    if draft.kind_id not in layout.kinds:
        raise FieldRefused(
            "model",
            f"The layout “{layout.name}” does not fit a {kind.name} clarinet. Choose another one.",
        )
    try:
        Tuning(draft.tuning_a_hz)
    except AnalysisError as error:
        raise FieldRefused("tuning_a_hz", str(error)) from error
    if not draft.name.strip():
        raise FieldRefused(
            "name", "An instrument needs a name, for example “B-flat soprano, pear wood barrel”."
        )
    instrument.name = draft.name.strip()
    instrument.kind_id = kind.id
    if instrument.layout_id != layout.id:  # what it lacked belonged to the other layout
        instrument.without_keys = instrument.key_names = None
    instrument.layout_id = layout.id
    instrument.own_layout = own
    instrument.layout_version = layout.version
    instrument.right_thumb = _read_thumb(instrument, draft.right_thumb)
    instrument.transposition_cents = kind.transposition.cents
    instrument.tuning_a_hz = draft.tuning_a_hz
    instrument.highest_text = _read_top(session, instrument, draft.highest)
    instrument.mouthpiece = draft.mouthpiece.strip()
    instrument.reed = draft.reed.strip()
    instrument.barrel = draft.barrel.strip()
    instrument.notes = draft.notes.strip()


def _read_thumb(instrument: Instrument, chosen: str) -> str | None:
    """Read what the right thumb does, as one of the choices that its keywork leaves it."""
    if not chosen:
        return None
    layout = instrument.plain_layout
    choices = right_thumb_choices(layout)
    if chosen in choices:
        return RightThumb(chosen).value
    if not choices:
        raise FieldRefused(
            "right_thumb",
            f"On “{layout.name}” the right thumb reaches no key: leave this as is usual.",
        )
    known = "; ".join(f"{one.value}: it {one.words}" for one in choices)
    raise FieldRefused("right_thumb", f"On “{layout.name}” choose one of these. {known}.")


def _read_top(session: Session, instrument: Instrument, typed: str) -> str | None:
    """Read the top of an instrument's range; nothing typed leaves it at the ordinary one."""
    if not typed.strip():
        return None
    names = find_preferences(session).names
    try:
        request = parse_pitch(typed, names=names)
        top = resolve_written(
            request, transposition=instrument.transposition, tuning=instrument.tuning
        )
    except AnalysisError as error:
        raise refuse_text("highest", error) from error
    low, high = instrument.lowest, instrument.kind.from_treble_notation(_HIGHEST)
    if not low.cents < top.cents <= high.cents:
        said = Sentence("The top of the range lies above ", low, " and goes up to ", high, ".")
        raise NoteRefused("highest", said, names)
    return None if top == instrument.kind.ordinary_top else top.canonical


def _transpose(session: Session, instrument: Instrument, fingerings: list[Fingering]) -> None:
    for fingering in fingerings:
        target_cents = instrument.transposition.to_sounding(fingering.written).cents
        if target_cents != fingering.target_cents:
            fingering.target_cents = target_cents
            refresh_evidence(session, fingering)
