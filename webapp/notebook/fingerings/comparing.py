"""Two fingerings of one instrument beside each other."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from analysis.keywork import are_acoustically_equal
from webapp.notebook.fingerings.base_choices import BaseGroup, offer_bases
from webapp.notebook.store.fetching import fetch, fetch_fingering, read_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument
from webapp.notebook.takes.playback import PlaybackTake, list_best
from webapp.notebook.targets.bases import StartingPoint, find_base


@dataclass(frozen=True, slots=True)
class ComparedFingering:
    """One of the two; `fingering` is its row if it is logged."""

    base: StartingPoint
    fingering: Fingering | None


@dataclass(frozen=True, slots=True)
class PairOfFingerings:
    """Two fingerings of an instrument; a side is None while it is not chosen.

    `groups` holds what can be chosen, `playback` the best take of each side that has one.
    """

    instrument: Instrument
    groups: tuple[BaseGroup, ...]
    playback: tuple[PlaybackTake, ...]
    first: ComparedFingering | None
    second: ComparedFingering | None

    @property
    def has_same_holes(self) -> bool:
        """Whether both leave the same holes open."""
        if self.first is None or self.second is None:
            return False
        return are_acoustically_equal(self.first.base.keys, self.second.base.keys)


def compare(
    notebook: Notebook, first: str, second: str, *, instrument_id: int | None = None
) -> PairOfFingerings | None:
    """Open two fingerings by their references (`logged:12`, `ordinary:E5:1`), or what is given.

    Returns None where neither the instrument nor a logged fingering says which instrument it is.

    Raises:
        NotInNotebook: there is no such instrument or fingering.
        FieldRefused: a reference names nothing on this instrument.
    """
    with notebook.database.reading() as session:
        if instrument_id is None:
            instrument = _instrument_of(session, first) or _instrument_of(session, second)
        else:
            instrument = fetch(session, Instrument, instrument_id)
        if instrument is None:
            return None
        sides = [_side(session, instrument, each) for each in (first, second)]
        logged = [side.fingering for side in sides if side and side.fingering]
        return PairOfFingerings(
            instrument, offer_bases(session, instrument), list_best(session, logged), *sides
        )


def _instrument_of(session: Session, reference: str) -> Instrument | None:
    kind, _, number = reference.partition(":")
    row_number = read_row_number(number)
    if kind != "logged" or not row_number:
        return None
    return fetch_fingering(session, row_number).instrument


def _side(session: Session, instrument: Instrument, reference: str) -> ComparedFingering | None:
    base = find_base(session, instrument, reference)
    if base is None:
        return None
    row = fetch_fingering(session, base.fingering_id) if base.fingering_id is not None else None
    return ComparedFingering(base, row)
