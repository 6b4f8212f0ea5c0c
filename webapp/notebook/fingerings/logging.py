"""Logs a fingering together with its recordings, as a command or a script does: all or nothing."""

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from analysis.finder import recognise_strategy
from analysis.finder.strategies import Strategy
from analysis.keywork import KeyStates, format_fingering
from analysis.pitch import NoteNames, WrittenPitch
from analysis.recording import decode_clip
from webapp.notebook.fingerings.base_choices import offer_bases
from webapp.notebook.fingerings.fingerings import FingeringDraft, log_fingering, open_fingering
from webapp.notebook.store.errors import DuplicateClip, FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.takes.takes import TakeNote, attach_take, check_note
from webapp.notebook.targets.bases import StartingPoint
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.standing import Judged


@dataclass(frozen=True, slots=True)
class LogDraft:
    """A fingering to log, with its recordings; `base` are keys that it was derived from."""

    keys: KeyStates
    target: str
    base: KeyStates | None = None
    takes: tuple[Path, ...] = ()
    dynamic: str | None = None
    resistance: int | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class LogAnswer:
    """What was logged, and how it stands to the note that it was logged for."""

    fingering: Fingering
    judged: Judged
    takes_counted: int
    takes_set_aside: int


def log_with_takes(
    notebook: Notebook, instrument_id: int, draft: LogDraft, *, names: NoteNames
) -> LogAnswer:
    """Log a fingering with its recordings; where one cannot be read nothing is logged.

    Raises:
        NotInNotebook: no such instrument.
        Refused: the hands cannot do it, a field cannot be kept, or the base is not known.
        RecordingError: a file is no recording that can be measured.
        OSError: a file cannot be read.
    """
    note = TakeNote(dynamic=draft.dynamic)
    check_note(note)
    for path in draft.takes:
        decode_clip(path)
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
    written = read_target(draft.target, instrument, names)
    base = _find_base(notebook, instrument, draft.base, written) if draft.base else None
    strategy = recognise_strategy(base.written, written) if base else None
    fingering_id = log_fingering(
        notebook,
        instrument_id,
        FingeringDraft(
            keys=draft.keys,
            target=draft.target,
            strategy=strategy or Strategy.FOUND,
            base=base.reference if base else "",
            resistance=draft.resistance,
            notes=draft.notes,
        ),
        names=names,
    )
    for path in draft.takes:
        # the same recording named twice is one take
        with path.open("rb") as file, suppress(DuplicateClip):
            take = TakeNote(dynamic=draft.dynamic, original_name=path.name)
            attach_take(notebook, fingering_id, file, take)
    return _answer(notebook, fingering_id)


def _find_base(
    notebook: Notebook, instrument: Instrument, keys: KeyStates, written: WrittenPitch
) -> StartingPoint:
    """Find what has these keys, ordinary or logged, the one that is nearest to the note."""
    with notebook.database.reading() as session:
        groups = offer_bases(session, instrument)
    found = [base for group in groups for base in group.bases if base.keys == keys]
    if not found:
        raise FieldRefused(
            "base",
            f"“{format_fingering(keys)}” is neither an ordinary fingering of this instrument nor "
            "logged on it. Log it first, or leave the base out.",
        )
    return min(found, key=lambda base: abs(base.written.cents - written.cents))


def _answer(notebook: Notebook, fingering_id: int) -> LogAnswer:
    page = open_fingering(notebook, fingering_id)
    assert page.judged is not None  # a fingering always stands to the note it was logged for
    return LogAnswer(
        fingering=page.fingering,
        judged=page.judged,
        takes_counted=page.fingering.take_count,
        takes_set_aside=page.fingering.set_aside_count + page.fingering.failed_take_count,
    )
