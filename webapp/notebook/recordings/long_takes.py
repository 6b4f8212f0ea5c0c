"""Long files attached to a fingering: too long to be measured while somebody waits.

Such a file is kept as a long recording, whose notes are found in the background and go on after a
restart; a row of it is committed before anything is said of it.
"""

from dataclasses import dataclass
from typing import IO

from webapp.notebook.recordings.recordings import add_recording
from webapp.notebook.store.errors import NoteTooLong
from webapp.notebook.store.fetching import fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.incoming import LONGEST_WAITED_FOR_S
from webapp.notebook.takes.takes import TakeNote, attach_take


@dataclass(frozen=True, slots=True)
class KeptAsLong:
    """The long recording that a file became, and how long it lasts."""

    recording_id: int
    duration_s: float


def attach_take_or_recording(
    notebook: Notebook, fingering_id: int, upload: IO[bytes], note: TakeNote
) -> KeptAsLong | None:
    """Attach a recording as a take; one that is too long for that is kept as a long recording.

    Returns:
        The long recording, or None for a take.

    Raises:
        NotInNotebook: no such fingering.
        ClipRefused, DuplicateClip, DuplicateRecording, FieldRefused: as for `attach_take` and
            `add_recording`.
    """
    try:
        attach_take(notebook, fingering_id, upload, note, longest_s=LONGEST_WAITED_FOR_S)
    except NoteTooLong as error:
        with notebook.database.reading() as session:
            instrument_id = fetch_fingering(session, fingering_id).instrument_id
        upload.seek(0)
        recording_id = add_recording(notebook, instrument_id, upload, note)
        return KeptAsLong(recording_id, error.duration_s)
    return None
