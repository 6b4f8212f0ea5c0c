"""Open the log page: an instrument, the bases to choose from, and the one that is chosen."""

from dataclasses import dataclass

from sqlalchemy.orm import Session, joinedload, selectinload

from webapp.notebook.fingerings.base_choices import BaseGroup, offer_bases
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch, fetch_fingering, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Suggestion
from webapp.notebook.targets.bases import (
    StartingPoint,
    find_base,
    kept_base,
)


@dataclass(frozen=True, slots=True)
class LogOffer:
    """What the log page offers.

    `base_refusal` says why the base that was asked for can't be had. `fingering` and `kept`, the
    base that it has, are there only where a fingering is changed; `suggestion` only where one of
    this instrument was asked for.
    """

    instrument: Instrument
    writing: Writing
    groups: tuple[BaseGroup, ...]
    base: StartingPoint | None
    base_refusal: FieldRefused | None = None
    suggestion: Suggestion | None = None
    fingering: Fingering | None = None
    kept: StartingPoint | None = None


def open_log(
    notebook: Notebook, instrument_id: int, *, base: str = "", suggestion_id: int | None = None
) -> LogOffer:
    """Return what there is to log a fingering from, in one transaction; `base` is a reference.

    Raises:
        NotInNotebook: there is no such instrument, or it is in the bin.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        chosen, refusal = _choose_base(session, instrument, base)
        return LogOffer(
            instrument=instrument,
            writing=find_preferences(session),
            groups=offer_bases(session, instrument),
            base=chosen,
            base_refusal=refusal,
            suggestion=_find_suggestion(session, instrument, suggestion_id),
        )


def open_change(notebook: Notebook, fingering_id: int, *, base: str | None = None) -> LogOffer:
    """Return a fingering and what it can be changed to, in one transaction.

    `base` is the reference that was chosen; None stands for the base that the fingering has.

    Raises:
        NotInNotebook: there is no such fingering, or it or its instrument is in the bin.
    """
    with notebook.database.reading() as session:
        fingering = fetch_fingering(session, fingering_id, selectinload(Fingering.tag_rows))
        instrument, kept = fingering.instrument, kept_base(fingering)
        is_kept = base is None or (kept is not None and base == kept.reference)
        chosen, refusal = (kept, None) if is_kept else _choose_base(session, instrument, base or "")
        return LogOffer(
            instrument=instrument,
            writing=find_preferences(session),
            groups=offer_bases(session, instrument, kept),
            base=chosen,
            base_refusal=refusal,
            fingering=fingering,
            kept=kept,
        )


def _choose_base(
    session: Session, instrument: Instrument, reference: str
) -> tuple[StartingPoint | None, FieldRefused | None]:
    try:
        return find_base(session, instrument, reference), None
    except FieldRefused as refusal:
        return None, refusal


def _find_suggestion(
    session: Session, instrument: Instrument, suggestion_id: int | None
) -> Suggestion | None:
    if suggestion_id is None or not is_row_number(suggestion_id):
        return None
    row = session.get(Suggestion, suggestion_id, options=[joinedload(Suggestion.instrument)])
    return row if row is not None and row.instrument_id == instrument.id else None
