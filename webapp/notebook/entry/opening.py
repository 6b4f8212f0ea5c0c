"""Open an entry: a fingering with its evidence, its days and what it is compared with."""

from dataclasses import dataclass

from analysis.pitch import Tuning
from webapp.notebook.finder.trust import find_prediction
from webapp.notebook.fingerings.evenness import TakeComparisons, compare_takes
from webapp.notebook.fingerings.fingerings import FingeringPage, load_fingering
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_open_practice
from webapp.notebook.store.rows import Practice, ReceivedOrigin, Suggestion
from webapp.notebook.takes.playback import PlaybackTake, Tones, list_playback, tones_of
from webapp.notebook.takes.tuning_reference import Days, find_days
from webapp.notebook.targets.bases import KEPT, reference_of


@dataclass(frozen=True, slots=True)
class Entry:
    """All that the page of a fingering shows.

    `practice` is the one that is open on the instrument, `suggestion` what the fingering was logged
    from; `base_reference` names the base where it is there to be opened,
    `origin` whose fingering it started from, if somebody else's.
    """

    page: FingeringPage
    writing: Writing
    practice: Practice | None
    days: Days
    tones: Tones
    playback: tuple[PlaybackTake, ...]
    comparison: TakeComparisons
    suggestion: Suggestion | None
    base_reference: str
    origin: ReceivedOrigin | None


def open_entry(notebook: Notebook, fingering_id: int) -> Entry:
    """Return what the page of a fingering shows, in one transaction.

    The number of queries grows neither with the takes nor with the fingerings.

    Raises:
        NotInNotebook: there is no such fingering, or it or its instrument is in the bin.
    """
    with notebook.database.reading() as session:
        page = load_fingering(session, fingering_id)
        fingering, takes = page.fingering, page.takes
        writing = find_preferences(session)
        practice = find_open_practice(session, fingering.instrument_id, now_utc())
        tuning = Tuning(practice.tuning_a_hz) if practice else None
        return Entry(
            page=page,
            writing=writing,
            practice=practice,
            days=find_days(session, fingering, takes),
            tones=tones_of(fingering, writing.names, tuning),
            playback=list_playback(session, fingering, takes),
            comparison=compare_takes(session, fingering, takes),
            suggestion=find_prediction(session, fingering_id),
            origin=session.get(ReceivedOrigin, fingering_id),
            base_reference=reference_of(fingering).removeprefix(KEPT),
        )
