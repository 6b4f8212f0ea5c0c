"""Reads what a player types for a note of an instrument."""

from analysis.errors import AnalysisError
from analysis.pitch import (
    NoteNames,
    Sentence,
    SignSystem,
    WrittenPitch,
    parse_pitch,
    resolve_written,
)
from webapp.notebook.store.note_refusals import NoteRefused, refuse_text
from webapp.notebook.store.rows import Instrument

# So far below its lowest note the lip or the bell may bring an instrument.
_BELOW_CENTS = 100


def read_target(
    text: str,
    instrument: Instrument,
    names: NoteNames = NoteNames.ENGLISH,
    *,
    field: str = "target",
    system: SignSystem | None = None,
    in_hand: WrittenPitch | None = None,
) -> WrittenPitch:
    """Read a target as written pitch of an instrument; `field` is where it was typed.

    `system` says what arrows mean, and `in_hand` is the note that +50 alone is counted from.

    Raises:
        FieldRefused: it cannot be read, it has several meanings, or it lies below the range.
    """
    written = read_pitch(text, instrument, names, field=field, system=system, in_hand=in_hand)
    refuse_below_range(written, instrument, names, field=field)
    return written


def refuse_below_range(
    written: WrittenPitch, instrument: Instrument, names: NoteNames, *, field: str
) -> None:
    """Refuse a note that lies a semitone or more below the lowest of an instrument.

    Raises:
        FieldRefused: it lies below the range, which the sentence names.
    """
    lowest, top = instrument.lowest, instrument.top
    if written.cents > lowest.cents - _BELOW_CENTS:
        return
    name = f"“{instrument.name}”"
    said = Sentence(
        written, f" lies below the range of {name}, which is written ", lowest, " to ", top, "."
    )
    raise NoteRefused(field, said, names)


def read_pitch(
    text: str,
    instrument: Instrument,
    names: NoteNames = NoteNames.ENGLISH,
    *,
    field: str = "target",
    system: SignSystem | None = None,
    in_hand: WrittenPitch | None = None,
) -> WrittenPitch:
    """Read a written pitch of an instrument that may lie anywhere.

    Raises:
        FieldRefused: it cannot be read, or it has several meanings.
    """
    try:
        request = parse_pitch(text, names=names, system=system, in_hand=in_hand)
        return resolve_written(
            request, transposition=instrument.transposition, tuning=instrument.tuning
        )
    except AnalysisError as error:
        raise refuse_text(field, error) from error


def read_range_end(
    text: str,
    instrument: Instrument,
    names: NoteNames,
    *,
    field: str,
    system: SignSystem | None = None,
) -> WrittenPitch | None:
    """Read one end of a range, which may lie anywhere; None where nothing was typed.

    An arrow is as large as `system` says.

    Raises:
        FieldRefused: it cannot be read, or it has several meanings.
    """
    if not text.strip():
        return None
    return read_pitch(text, instrument, names, field=field, system=system)
