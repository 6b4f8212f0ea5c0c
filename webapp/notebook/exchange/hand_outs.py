"""Hand-outs: a selection as it goes to somebody without this program, with what is wanted of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.pitch import NoteNames
from webapp.notebook.exchange.selecting import Selection, load_listed, load_selection
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.clock import day_of
from webapp.notebook.store.errors import Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.playback import load_best_takes

HAND_OUT_AT_MOST = 500
SOUND_BYTES_AT_MOST = 100_000_000


@dataclass(frozen=True, slots=True)
class HandOutHeading:
    """Heading of a hand-out, by choice: a title, the player's name, recordings, notes."""

    title: str = ""
    player_name: str = ""
    has_recordings: bool = False
    has_notes: bool = True


@dataclass(frozen=True, slots=True)
class HandedTake:
    """The best take of a fingering, byte for byte, and what kind of sound file it is."""

    sound: bytes
    clip_format: str


@dataclass(frozen=True, slots=True)
class HandOut:
    """Fingerings of one instrument in order of pitch, with recordings by their numbers."""

    instrument: Instrument
    heading: HandOutHeading
    writing: Writing
    as_of: date
    fingerings: tuple[Fingering, ...]
    recordings: Mapping[int, HandedTake]


def collect_hand_out(
    notebook: Notebook, selection: Selection, heading: HandOutHeading, *, names: NoteNames
) -> HandOut:
    """Return what a hand-out of a selection holds; its date is that of the last change in it.

    Raises:
        NotInNotebook: there is no such instrument or practice.
        FieldRefused: a range end cannot be read, or the range is upside down.
        Refused: nothing is chosen, or too much.
        ClipMissing: a recording is gone.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, selection.instrument_id)
        listed = load_listed(session, notebook, instrument, selection)
        rows = load_selection(session, instrument, selection, names, listed)
        if not rows:
            raise Refused("Nothing is chosen, so there is nothing to hand out. Choose fingerings.")
        if len(rows) > HAND_OUT_AT_MOST:
            raise Refused(
                f"More than {HAND_OUT_AT_MOST} fingerings are chosen, more than anybody reads on "
                "one page. Narrow the choice down."
            )
        takes = _find_takes(session, rows) if heading.has_recordings else {}
        writing = find_preferences(session)
    _check_room(takes)
    recordings = {
        number: HandedTake(notebook.clips.find(take.clip_name).read_bytes(), take.clip_format)
        for number, take in takes.items()
    }
    as_of = day_of(max(each.updated_at for each in rows))
    return HandOut(instrument, heading, writing, as_of, rows, recordings)


def _find_takes(session: Session, rows: Sequence[Fingering]) -> dict[int, Take]:
    best = load_best_takes(session, [each.id for each in rows])
    takes = session.scalars(select(Take).where(Take.id.in_(best.values())))
    by_number = {take.id: take for take in takes}
    return {number: by_number[take_id] for number, take_id in best.items()}


def _check_room(takes: Mapping[int, Take]) -> None:
    total = sum(take.byte_count for take in takes.values())
    if total > SOUND_BYTES_AT_MOST:
        raise Refused(
            f"The recordings have {total / 1e6:.0f} MB, and a page holds up to "
            f"{SOUND_BYTES_AT_MOST / 1e6:.0f} MB. Choose fewer, or leave them out."
        )
