"""Standings of takes in JSON: what a page that holds several of them shows after each change."""

from analysis.pitch import format_cents
from webapp.drawing.figures import format_uncertainty
from webapp.notebook.store.rows import Fingering
from webapp.notebook.takes.beside import find_beside
from webapp.presenting.notes import describe_sentence
from webapp.presenting.take_words import describe_standing
from webapp.presenting.words import current_notebook


def describe_beside(take_id: int) -> dict[str, object]:
    """Return what the takes of the fingering of a take count for now, and their figure."""
    beside = find_beside(current_notebook(), take_id)
    if beside is None:
        return {"standings": [], "pooled": None}
    instrument = beside.fingering.instrument
    return {
        "standings": [
            {
                "take": each.id,
                "counts": each.counts,
                "standing": describe_sentence(describe_standing(each, instrument)),
            }
            for each in beside.takes
        ],
        "pooled": _describe_evidence(beside.fingering),
    }


def _describe_evidence(fingering: Fingering) -> dict[str, object] | None:
    if not fingering.is_measured:
        return None
    return {
        "take_count": fingering.take_count,
        **describe_offset(fingering.offset_cents, fingering.offset_uncertainty_cents),
    }


def describe_offset(
    offset_cents: float | None, uncertainty_cents: float | None
) -> dict[str, float | str | None]:
    """Return an offset in numbers, and as the pages write it."""
    figure = None
    if offset_cents is not None and uncertainty_cents is not None:
        give = format_uncertainty(uncertainty_cents)
        figure = f"{format_cents(offset_cents)} ± {give} cents"
    return {
        "offset_cents": offset_cents,
        "uncertainty_cents": uncertainty_cents,
        "figure": figure,
    }
