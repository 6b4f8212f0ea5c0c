"""Which keys an instrument has, and what its player calls them."""

from collections.abc import Mapping

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.keywork import optional_keys
from analysis.pitch import Sentence
from webapp.forms.entries import KeysForm, read_count
from webapp.notebook.instruments.instrument_keys import change_keys
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.notebook.store.note_refusals import said_of
from webapp.notebook.store.rows import Instrument
from webapp.presenting.words import current_notebook


def change(instrument_id: int) -> str | Response | tuple[str, int]:
    """Switch optional keys of an instrument on and off, and rename keys."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = KeysForm(version=str(instrument.version))
    if not form.is_submitted():
        return _page(form, instrument, {}, "")
    try:
        change_keys(
            current_notebook(),
            instrument_id,
            without=frozenset(
                key.id
                for key in optional_keys(instrument.layout)
                if f"has-{key.id}" not in request.form
            ),
            names={
                key.id: request.form.get(f"name-{key.id}", "")
                for key in instrument.layout.complete.keys
            },
            seen_version=read_count(form.version) or 0,
        )
    except FieldRefused as error:
        return _page(form, instrument, {error.field: said_of(error)}, ""), error.status
    except StaleEdit as error:
        form.version.data = str(instrument.version)
        return _page(form, instrument, {}, str(error)), error.status
    flash("The keys of this instrument are kept.")
    return redirect(url_for("instruments.show", instrument_id=instrument_id))


def _page(
    form: KeysForm, instrument: Instrument, errors: Mapping[str, Sentence | str], stale: str
) -> str:
    layout = instrument.layout
    plain = dict(instrument.plain_layout.renamed)
    called = {key.id: plain.get(key.id, key.name) for key in layout.complete.keys}
    if form.is_submitted():
        has = {name.removeprefix("has-") for name in request.form if name.startswith("has-")}
        typed = {key_id: request.form.get(f"name-{key_id}", "") for key_id in called}
    else:
        has = {key.id for key in layout.keys}
        typed = {key_id: name for key_id, name in layout.renamed if name != plain.get(key_id, "")}
    return render_template(
        "instruments/keys.html",
        form=form,
        instrument=instrument,
        optional=optional_keys(layout),
        called=called,
        has=has,
        typed=typed,
        errors=errors,
        stale=stale,
    )
