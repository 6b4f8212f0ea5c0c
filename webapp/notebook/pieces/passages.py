"""Passages: bars of a part fingered as a whole, straight from a file or kept with a piece."""

from dataclasses import dataclass

from analysis.planning import Emphasis
from analysis.score import PartTranscript, ReadingSettings
from webapp.notebook.pieces.fingered import FingeringWishes
from webapp.notebook.pieces.needs import read_part_for
from webapp.notebook.pieces.passage_notes import Stretch, check_tempo, read_bars
from webapp.notebook.pieces.passage_steps import FingeredPassage
from webapp.notebook.pieces.predicting import finger_with_predictions
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, ResultCache
from webapp.notebook.store.rows import Instrument

TOOK_TOO_LONG = "Making the model of this instrument takes too long."


@dataclass(frozen=True, slots=True)
class FingeredFile:
    """A part of a file that is to be fingered; `bars` as typed, empty for all of it."""

    transcript: PartTranscript
    settings: ReadingSettings
    bars: str = ""
    quarters_per_minute: float | None = None
    emphasis: Emphasis = Emphasis.SAFEST


@dataclass(frozen=True, slots=True)
class FileAnswer:
    """A fingered file; `without_predictions` says why there are none where some were wanted."""

    passage: FingeredPassage
    writing: Writing
    without_predictions: str = ""


def finger_file(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    wanted: FingeredFile,
    *,
    patience_s: float,
) -> FileAnswer:
    """Choose the fingerings of some bars of a file on an instrument.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: there are no such bars, or the tempo cannot be played.
        ScoreError: nothing in the part has a pitch, or the settings do not fit.
    """
    tempo = wanted.quarters_per_minute
    if tempo is not None:
        tempo = check_tempo(tempo)
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        part = read_part_for(wanted.transcript, wanted.settings, instrument.transposition)
        stretch = Stretch(*read_bars(part, wanted.bars), tempo)
        passage, missing = finger_with_predictions(
            session, notebook, result_cache, instrument, part, stretch,
            FingeringWishes(wanted.emphasis), patience_s=patience_s,
        )  # fmt: skip
        writing = find_preferences(session)
    reason = missing.reason if isinstance(missing, Failed) else TOOK_TOO_LONG if missing else ""
    return FileAnswer(passage, writing, reason)
