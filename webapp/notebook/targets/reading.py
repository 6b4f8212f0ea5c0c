"""Reads what a player types for a note of an instrument."""

from analysis.errors import AnalysisError
from analysis.pitch import NoteNames, WrittenPitch, parse_pitch, resolve_written
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument


def read_target(
    text: str,
    instrument: Instrument,
    names: NoteNames = NoteNames.ENGLISH,
    *,
    field: str = "target",
) -> WrittenPitch:
    """Read a target as written pitch of an instrument; `field` is where it was typed.

    Raises:
        FieldRefused: it cannot be read, or it has several meanings.
    """
    try:
        request = parse_pitch(text, names=names)
        return resolve_written(
            request, transposition=instrument.transposition, tuning=instrument.tuning
        )
    except AnalysisError as error:
        raise FieldRefused(field, str(error)) from error


def read_range_end(
    text: str, instrument: Instrument, names: NoteNames, *, field: str
) -> WrittenPitch | None:
    """Read one end of a range as `read_target` does; None where nothing was typed."""
    return read_target(text, instrument, names, field=field) if text.strip() else None
