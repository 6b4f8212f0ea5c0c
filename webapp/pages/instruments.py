"""Pages about instruments."""

import re

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import SelectChoice

from analysis.keywork import layouts_for_kind, right_thumb_choices
from analysis.pitch import KINDS, format_pitch
from webapp.forms.entries import (
    USUAL_THUMB,
    InstrumentForm,
    SearchForm,
    add_refusal,
    read_count,
)
from webapp.notebook.instruments.instruments import (
    InstrumentDraft,
    add_instrument,
    change_instrument,
    choose_instruments,
    open_instrument,
)
from webapp.notebook.instruments.layouts import own_layouts
from webapp.notebook.practice.practice import find_current_practice
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.overview import cover_instrument
from webapp.notebook.targets.search import SearchQuery, search_target
from webapp.presenting.text_direction import isolate_plain
from webapp.presenting.words import current_notebook, current_writing

SEPARATOR = "|"
_FAMILY = re.compile(r"^[\w ]+?(?:, | (?=to ))")


def model_choices() -> list[SelectChoice]:
    """List every kind with every layout that serves it, the player's own after the shipped.

    The name of a shipped layout begins with its family, which the kind has said already.
    """
    own = own_layouts(current_notebook())
    return [
        SelectChoice(f"{kind.id}{SEPARATOR}{layout_id}", f"{kind.name} · {words}")
        for kind in KINDS.values()
        for layout_id, words in (
            *((each.id, _FAMILY.sub("", each.name)) for each in layouts_for_kind(kind.id)),
            *((each.id, isolate_plain(each.name)) for each in own if kind.id in each.kinds),
        )
    ]


def thumb_choices(instrument: Instrument) -> list[SelectChoice]:
    """List what the right thumb may do on the keywork of an instrument, the usual first.

    None but that where no key is within its reach.
    """
    plain = instrument.plain_layout
    choices = right_thumb_choices(plain)
    usual = f"{USUAL_THUMB}: it {plain.right_thumb.words}" if choices else USUAL_THUMB
    return [
        SelectChoice("", usual),
        *(SelectChoice(one.value, f"it {one.words}") for one in choices),
    ]


def add() -> str | Response | tuple[str, int]:
    """Add an instrument."""
    form = InstrumentForm()
    form.model.choices = model_choices()
    if not form.is_submitted():
        form.model.data = f"b-flat-soprano{SEPARATOR}soprano-17-6"
        return render_template("instruments/form.html", form=form, instrument=None)
    if form.validate():
        try:
            is_first = not choose_instruments(current_notebook())
            instrument_id = add_instrument(current_notebook(), _draft(form))
        except FieldRefused as error:
            add_refusal(form, error)
        else:
            if is_first:
                flash("The instrument is in the notebook. Its first list lies on the stand.")
                return redirect(url_for("stand.show_first_day", instrument_id=instrument_id))
            flash("The instrument is in the notebook. Now log its first fingering.")
            return redirect(url_for("instruments.show", instrument_id=instrument_id))
    return render_template("instruments/form.html", form=form, instrument=None), 422


def show(instrument_id: int) -> str:
    """Show one instrument: set-up, coverage, and its fingerings from low to high."""
    notebook = current_notebook()
    return render_template(
        "instruments/show.html",
        instrument=open_instrument(notebook, instrument_id),
        coverage=cover_instrument(notebook, open_instrument(notebook, instrument_id)),
        result=search_target(
            notebook, SearchQuery(instrument_id=instrument_id), names=current_writing().names
        ),
        practice=find_current_practice(notebook, instrument_id),
        form=SearchForm(),
    )


def edit(instrument_id: int) -> str | Response | tuple[str, int]:
    """Change an instrument."""
    notebook = current_notebook()
    instrument = open_instrument(notebook, instrument_id)
    form = InstrumentForm(
        obj=instrument,
        model=f"{instrument.kind_id}{SEPARATOR}{instrument.layout_id}",
        right_thumb=instrument.right_thumb or "",
    )
    form.model.choices = model_choices()
    form.right_thumb.choices = thumb_choices(instrument)
    if not form.is_submitted():
        form.tuning_a_hz.data = f"{instrument.tuning_a_hz:g}"
        if instrument.highest_text is not None:
            form.highest.data = format_pitch(instrument.top, names=current_writing().names)
        return render_template("instruments/form.html", form=form, instrument=instrument)
    if form.validate():
        try:
            change_instrument(
                notebook, instrument_id, _draft(form), seen_version=read_count(form.version) or 0
            )
        except FieldRefused as error:
            add_refusal(form, error)
        except StaleEdit as error:
            return _show_stale(form, instrument, error), error.status
        else:
            flash("The instrument is changed.")
            return redirect(url_for("instruments.show", instrument_id=instrument_id))
    return render_template("instruments/form.html", form=form, instrument=instrument), 422


def _show_stale(form: InstrumentForm, instrument: Instrument, error: StaleEdit) -> str:
    form.version.data = str(instrument.version)
    return render_template(
        "instruments/form.html", form=form, instrument=instrument, stale=str(error)
    )


def _draft(form: InstrumentForm) -> InstrumentDraft:
    kind_id, _, layout_id = (form.model.data or "").partition(SEPARATOR)
    return InstrumentDraft(
        name=form.name.data or "",
        kind_id=kind_id,
        layout_id=layout_id,
        tuning_a_hz=form.tuning_a_hz.number or 0.0,
        highest=form.highest.data or "",
        right_thumb=form.right_thumb.data or "",
        mouthpiece=form.mouthpiece.data or "",
        reed=form.reed.data or "",
        barrel=form.barrel.data or "",
        notes=form.notes.data or "",
    )
