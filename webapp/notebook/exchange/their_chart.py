"""A chart of what came from a sender as PDF: their name stands in the title and at each entry."""

from analysis.pitch import KINDS
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec, render
from webapp.notebook.exchange.received import Received, SenderPage
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import NotInNotebook


def print_theirs(page: SenderPage, *, writing: Writing) -> bytes:
    """Print the fingerings of the first instrument of a sender that has some.

    Raises:
        NotInNotebook: nothing of theirs can be printed.
    """
    instrument = next(
        (
            each
            for each in page.instruments
            if any(_is_on(row, each.said) for row in page.fingerings)
        ),
        None,
    )
    if instrument is None:
        raise NotInNotebook("This player sent no fingering that can be printed.")
    name, kind = page.sender.shown_name, KINDS[instrument.said["kind"]]
    return render(
        ChartSpec(
            title=f"From {name}: {instrument.name}",
            instrument_name=f"{instrument.name}, the instrument of {name}",
            kind_name=kind.name,
            setup_lines=(*instrument.setup_lines, f"Measured by {name}, not in this notebook."),
            tuning_a_hz=instrument.tuning_a_hz,
            as_of=page.sender.received_at.date(),
            entries=tuple(_entry(row) for row in page.fingerings if _is_on(row, instrument.said)),
            accidental_style=writing.accidentals,
            names=writing.names,
            clef=kind.clef,
            tolerance_cents=writing.tolerance_cents,
        )
    )


def _is_on(row: Received, said: object) -> bool:
    return row.theirs.instrument.said == said


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
