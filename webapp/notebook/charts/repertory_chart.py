"""Prints a player's repertory for composers and teachers."""

from analysis.pitch import format_cents
from webapp.drawing.figures import format_uncertainty
from webapp.notebook.charts.charts import Chart, name_document
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.pdf.repertory import (
    RepertorySpec,
    StepLine,
    TrillLine,
    render_repertory,
)
from webapp.notebook.charts.repertory import Repertory, RepertoryStep
from webapp.notebook.charts.repertory_table import write_dynamics
from webapp.notebook.charts.repertory_words import (
    ABOUT_OPEN,
    ABOUT_STEPS,
    HOW_TO_READ,
    is_bold,
    name_interval,
    say_transposition,
    write_cell,
)
from webapp.notebook.preferences.preferences import Writing


def print_repertory(page: Repertory, *, writing: Writing, paper: Paper = Paper.A4) -> Chart:
    """Print what a player has; the same notebook gives the same bytes."""
    instrument, notes = page.instrument, page.by_note()
    spec = RepertorySpec(
        title=f"What can be played on {instrument.name}",
        instrument_name=instrument.name,
        kind_name=instrument.kind.name,
        transposition=say_transposition(instrument),
        registers=tuple(
            (register.value.capitalize(), tuple(map(_describe, steps)))
            for register, steps in page.by_register()
        ),
        open_steps=tuple(step.written for step in page.open_steps),
        intervals=tuple(
            (step.interval_cents, name_interval(step.interval_cents)) for step in notes[0][1]
        )
        if notes
        else (),
        trills=tuple(
            TrillLine(lower, tuple((write_cell(step), is_bold(step)) for step in steps))
            for lower, steps in notes
        ),
        about_steps=ABOUT_STEPS,
        about_open=ABOUT_OPEN,
        how_to_read=HOW_TO_READ,
        as_of=page.as_of,
        paper=paper,
        accidental_style=writing.accidentals,
        names=writing.names,
    )
    name = name_document(
        f"{instrument.name} for composers", "instrument for composers", as_of=page.as_of
    )
    return Chart(render_repertory(spec), name, len(page.steps))


def _describe(step: RepertoryStep) -> StepLine:
    judged = step.judged
    figure = ""
    if judged is not None and judged.offset_cents is not None:
        figure = format_cents(judged.offset_cents)
        if judged.facts.uncertainty_cents is not None:
            figure += f" ± {format_uncertainty(judged.facts.uncertainty_cents)}"
    return StepLine(
        written=step.written,
        standing=step.words,
        figure=figure,
        dynamics=write_dynamics(step),
        remarks=", ".join(step.remarks),
        keys=step.keys_text,
        is_measured=judged is not None and judged.facts.is_measured,
    )
