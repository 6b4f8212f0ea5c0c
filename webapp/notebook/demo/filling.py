"""Fill an empty notebook with the demo.

All fingerings are logged first, which takes a moment, so that the pages are useful at once; then
the piece is brought in, and the takes are made, attached and measured through the ordinary
services, newest fingerings first.
Everything carries the dates of the story, not today's, so that a chart of the demo never changes.
"""

import io
import logging
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import update

from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import NoteNames, SoundingPitch
from webapp.notebook.demo.performing import add_demo_piece
from webapp.notebook.demo.playing import play_take
from webapp.notebook.demo.story import DemoFingering, DemoInstrument, DemoTake, read_story
from webapp.notebook.fingerings.fingerings import FingeringDraft, log_fingering, open_fingering
from webapp.notebook.instruments.instruments import InstrumentDraft, add_instrument
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take
from webapp.notebook.takes.takes import TakeNote, attach_take

_log = logging.getLogger(__name__)
LOGGING_PATIENCE_S = 20.0


@dataclass(frozen=True, slots=True)
class _Logged:
    """A fingering of the story, and the numbers of it and of its instrument in the notebook."""

    fingering_id: int
    fingering: DemoFingering
    instrument: DemoInstrument
    instrument_id: int


class DemoFilling:
    """A demo notebook being filled: fingerings first, for which pages wait, then their takes.

    Raises:
        ValueError: the notebook is not a demo notebook; a player's own is never touched.
    """

    def __init__(self, notebook: Notebook) -> None:
        if not notebook.is_demo:
            raise ValueError("the demo only fills a demo notebook, never a player's own")
        self._notebook = notebook
        self._is_logged = threading.Event()
        self._logged: tuple[_Logged, ...] = ()
        self.left_count = 0
        """How many takes are still to be recorded and measured."""

    def wait(self) -> None:
        """Wait until the fingerings are there: a page without them would show an empty notebook."""
        self._is_logged.wait(LOGGING_PATIENCE_S)

    def log_fingerings(self) -> None:
        """Log the fingerings, once; ends quietly once the notebook is gone."""
        if self._logged:
            return
        try:
            with _quiet_once_gone(self._notebook, threading.Event()):
                self._logged = _log_all(self._notebook)
                self.left_count = sum(len(each.fingering.takes) for each in self._logged)
        finally:
            self._is_logged.set()

    def fill(self, *, stop: threading.Event | None = None) -> None:
        """Fill it; ends early and quietly once `stop` is set or the notebook is gone."""
        stop = stop or threading.Event()
        self.log_fingerings()
        with _quiet_once_gone(self._notebook, stop):
            if stop.is_set() or not self._logged:
                return
            _bring_in_piece(self._notebook, self._logged)
            for each, take in _takes_newest_first(self._logged):
                if stop.is_set():
                    return
                _attach(self._notebook, each, take)
                self.left_count -= 1


@contextmanager
def _quiet_once_gone(notebook: Notebook, stop: threading.Event) -> Iterator[None]:
    """End work quietly where the notebook was closed meanwhile or `stop` was set."""
    try:
        yield
    except Exception:  # SQLite, the file system and the engine each have an error of their own
        if not (stop.is_set() or _is_gone(notebook)):
            raise
        _log.debug("the demo notebook was closed before it was full")


def fill_demo(notebook: Notebook, *, stop: threading.Event | None = None) -> None:
    """Fill a demo notebook; ends early and quietly once `stop` is set or the notebook is gone.

    Raises:
        ValueError: the notebook is not a demo notebook; a player's own is never touched.
    """
    DemoFilling(notebook).fill(stop=stop)


def _is_gone(notebook: Notebook) -> bool:
    """Whether the notebook was closed and its folder removed, wholly or so far in part."""
    database = Path(str(notebook.database.engine.url.database))
    return not (notebook.clips.folder.exists() and database.exists())


def _log_all(notebook: Notebook) -> tuple[_Logged, ...]:
    """Log every fingering of the story in the order of its dates."""
    added = [(each, _add_instrument(notebook, each)) for each in read_story()]
    entries = sorted(
        ((fingering, *owner) for owner in added for fingering in owner[0].fingerings),
        key=lambda entry: entry[0].logged_at,
    )
    numbers: dict[str, int] = {}
    logged = []
    for fingering, instrument, instrument_id in entries:
        draft = _draft(fingering, instrument, numbers)
        number = log_fingering(notebook, instrument_id, draft, names=NoteNames.ENGLISH)
        numbers[fingering.name] = number
        logged.append(_Logged(number, fingering, instrument, instrument_id))
    _date_fingerings(notebook, logged)
    return tuple(logged)


def _bring_in_piece(notebook: Notebook, logged: Sequence[_Logged]) -> None:
    """Bring in the piece, for the first instrument of the story."""
    first, *_ = read_story()
    instrument_id = next(each.instrument_id for each in logged if each.instrument == first)
    add_demo_piece(notebook, instrument_id, logged[-1].fingering.logged_at)


def _add_instrument(notebook: Notebook, instrument: DemoInstrument) -> int:
    draft = InstrumentDraft(
        name=instrument.name,
        kind_id=instrument.kind,
        layout_id=instrument.layout,
        tuning_a_hz=instrument.tuning_a_hz,
        mouthpiece=instrument.mouthpiece,
        reed=instrument.reed,
        barrel=instrument.barrel,
        notes=instrument.notes,
    )
    number = add_instrument(notebook, draft)
    first_at = instrument.fingerings[0].logged_at
    with notebook.database.writing() as session:
        session.execute(
            update(Instrument)
            .where(Instrument.id == number)
            .values(created_at=first_at, updated_at=first_at)
        )
    return number


def _draft(
    fingering: DemoFingering, instrument: DemoInstrument, numbers: dict[str, int]
) -> FingeringDraft:
    base = f"logged:{numbers[fingering.base]}" if fingering.is_from_logged else fingering.base
    return FingeringDraft(
        keys=parse_fingering(fingering.keys, load_layout(instrument.layout)),
        target=fingering.target,
        strategy=fingering.strategy,
        base=base,
        resistance=fingering.resistance,
        resistance_notes=fingering.resistance_notes,
        notes=fingering.notes,
        tags=fingering.tags,
        does_not_speak=fingering.does_not_speak,
    )


def _date_fingerings(notebook: Notebook, logged: list[_Logged]) -> None:
    with notebook.database.writing() as session:
        for each in logged:
            at = each.fingering.logged_at
            session.execute(
                update(Fingering)
                .where(Fingering.id == each.fingering_id)
                .values(created_at=at, updated_at=at)
            )


def _takes_newest_first(logged: tuple[_Logged, ...]) -> Iterator[tuple[_Logged, DemoTake]]:
    """Walk the takes: the newest fingering comes first, its takes in the order of recording."""
    for each in reversed(logged):
        for take in each.fingering.takes:
            yield each, take


def _attach(notebook: Notebook, logged: _Logged, take: DemoTake) -> None:
    """Make one take and attach it, unless its fingering went to the bin meanwhile."""
    try:
        target = open_fingering(notebook, logged.fingering_id).fingering.target_cents
        clip = play_take(take, logged.fingering, logged.instrument, target=SoundingPitch(target))
        note = TakeNote(
            original_name=f"{take.at:%Y-%m-%d_%H%M}_{logged.fingering.name}.wav",
            recorded_at=take.at,
            dynamic=take.dynamic,
            air_temperature_c=take.temperature_c,
            tuning_a_hz=logged.instrument.tuning_a_hz,
        )
        take_id = attach_take(notebook, logged.fingering_id, io.BytesIO(clip), note)
    except NotInNotebook:
        return
    _date_take(notebook, take_id, fingering_id=logged.fingering_id, at=take.at)


def _date_take(notebook: Notebook, take_id: int, *, fingering_id: int, at: datetime) -> None:
    with notebook.database.writing() as session:
        session.execute(update(Take).where(Take.id == take_id).values(created_at=at))
        session.execute(
            update(Measurement).where(Measurement.take_id == take_id).values(measured_at=at)
        )
        session.execute(update(Fingering).where(Fingering.id == fingering_id).values(updated_at=at))
