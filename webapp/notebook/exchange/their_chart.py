"""A chart of what came from a sender as PDF: their name stands in the title and at each entry."""

from analysis.pitch import KINDS
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec, render
from webapp.notebook.exchange.received import Received, SenderPage
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import NotInNotebook


def print_theirs(page: SenderPage, uid: str, *, writing: Writing) -> bytes:
    """Print the fingerings of one instrument of a sender, by its id; left open, of the first.

    Raises:
        NotInNotebook: there is no such instrument.
    """
    found = [each for each in page.instruments if uid in ("", each.said["id"])]
    if not found:
        raise NotInNotebook("This player sent nothing of such an instrument.")
    instrument = found[0]
    name, kind = page.sender.shown_name, KINDS[instrument.said["kind"]]
    return render(
        ChartSpec(
            title=f"From {name}: {instrument.name}",
            instrument_name=f"{instrument.name}, the instrument of {name}",
            kind_name=kind.name,
            setup_lines=(*instrument.setup_lines, f"Measured by {name}, not in this notebook."),
            tuning_a_hz=instrument.tuning_a_hz,
            as_of=page.sender.received_at.date(),
            entries=tuple(
                _entry(row)
                for row in page.fingerings
                if row.theirs.instrument.said["id"] == instrument.said["id"]
            ),
            accidental_style=writing.accidentals,
            names=writing.names,
            clef=kind.clef,
            tolerance_cents=writing.tolerance_cents,
        )
    )


def _entry(row: Received) -> ChartEntry:
    theirs, said = row.theirs, row.theirs.said
    return ChartEntry(
        written=theirs.written,
        fingering=theirs.keys,
        base=theirs.base,
        offset_cents=theirs.offset_cents,
        uncertainty_cents=theirs.uncertainty_cents,
        take_count=theirs.take_count,
        resistance=said["resistance"],
        strategy=said["how_in_words"],
        notes=" ".join(filter(None, (f"From {row.sender.shown_name}.", said["notes"]))),
        tags=tuple(said["tags"]),
        does_not_speak=said["does_not_speak"],
    )
