"""The whole range of an instrument at a glance, and as a table for a spreadsheet."""

from flask import Response, render_template, request, url_for

from webapp.forms.entries import RANGE_GRIDS, RangeForm, add_refusal
from webapp.notebook.csv_tables import write_csv
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.targets.range import COLUMNS, WholeRange, open_range, tabulate_range
from webapp.pages.search import NARROWED, USUAL_WITHIN_CENTS, read_filters
from webapp.presenting.range import StepRow, present_range
from webapp.presenting.words import asked_as, current_notebook, write_as

ASKED = ("grid", *NARROWED)


def show(instrument_id: int) -> str | tuple[str, int]:
    """Show the whole range, step by step."""
    form = RangeForm(request.args)
    whole = _open(form, instrument_id)
    return _refuse(form, instrument_id) if whole is None else _show(form, whole)


def table(instrument_id: int) -> Response | tuple[str, int]:
    """Hand out the same steps as a table."""
    form = RangeForm(request.args)
    whole = _open(form, instrument_id, has_texts=True)
    if whole is None:
        return _refuse(form, instrument_id)
    answer = Response(write_csv(COLUMNS, tabulate_range(whole)), mimetype="text/csv")
    name = f"range-{instrument_id}.csv"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def _open(form: RangeForm, instrument_id: int, *, has_texts: bool = False) -> WholeRange | None:
    """Return the range that is asked for, or None where the form says why not."""
    if not form.validate():
        return None
    grid = int(form.grid.data)
    try:
        return open_range(
            current_notebook(),
            instrument_id,
            read_filters(form, usual_within_cents=600 / grid),
            steps_per_octave=grid,
            has_texts=has_texts,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return None


def _show(form: RangeForm, whole: WholeRange) -> str:
    write_as(whole.writing)
    return render_template(
        "range/show.html",
        form=form,
        instrument=whole.instrument,
        whole=whole,
        view=present_range(whole),
        grids=_grid_links(form),
        asked=_asked(form),
        target_address=lambda row: _target_address(whole, row),
    )


def _refuse(form: RangeForm, instrument_id: int) -> tuple[str, int]:
    instrument = open_instrument(current_notebook(), instrument_id)
    page = render_template(
        "range/show.html",
        form=form,
        instrument=instrument,
        whole=None,
        grids=_grid_links(form),
    )
    return page, 422


def _asked(form: RangeForm) -> dict[str, str]:
    """Return what the address asks for, without what was refused."""
    return {
        name: value
        for name, value in request.args.items()
        if name in ASKED and value and not form[name].errors
    }


def _grid_links(form: RangeForm) -> list[tuple[str, dict[str, str], bool]]:
    """Return for each grid its words, its query with all else as it is, and whether it shows."""
    return [
        (choice.label, {**_asked(form), "grid": choice.value}, choice.value == form.grid.data)
        for choice in RANGE_GRIDS
    ]


def _target_address(whole: WholeRange, row: StepRow) -> str:
    """Return where a step leads: to its note, or to all that counts for so wide a step."""
    number, written = whole.instrument.id, row.written
    if row.is_open or whole.width_cents <= USUAL_WITHIN_CENTS:
        return url_for("notes.show", instrument_id=number, note=written.canonical)
    # A step of semitones counts what the page of its note would leave out.
    within = f"{whole.width_cents:g}"
    return url_for("search.show", q=asked_as(written), instrument=number, within=within)
