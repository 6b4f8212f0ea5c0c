"""Takes of the demo: each is played, attached and measured through the ordinary services."""

import io
from datetime import datetime

from sqlalchemy import update

from analysis.pitch import SoundingPitch
from webapp.notebook.demo.entries import Logged
from webapp.notebook.demo.playing import play_take
from webapp.notebook.demo.story import DemoTake
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Measurement, Take
from webapp.notebook.takes.takes import TakeNote, attach_take


def attach(notebook: Notebook, logged: Logged, take: DemoTake) -> None:
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
