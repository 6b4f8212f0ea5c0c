"""Takes: attach a recording, look at it, listen to it."""

from datetime import datetime

from flask import (
    Response,
    flash,
    redirect,
    render_template,
    request,
    send_file,
    url_for,
)
from werkzeug.wrappers import Response as AnyResponse

from webapp.forms.entries import TakeForm, add_refusal
from webapp.guards.uploads import read_clip
from webapp.notebook.recordings.long_takes import attach_take_or_recording
from webapp.notebook.store.errors import FieldRefused, Refused, TooLarge
from webapp.notebook.takes.plots import find_nearest_note, list_components
from webapp.notebook.takes.takes import (
    TakeNote,
    TakePage,
    examine_clip,
    find_clip,
    moment_of_day,
    open_take,
)
from webapp.notebook.takes.tuning_reference import MISSING, TakeDay, open_days
from webapp.pages.background import wake_background
from webapp.pages.entry import render_entry
from webapp.pages.refusal_links import with_link
from webapp.presenting.plot_view import list_moves, query_of, read_view, whole_view
from webapp.presenting.words import current_notebook

MEDIA_TYPES = {
    "wav": "audio/wav",
    "flac": "audio/flac",
    "mp3": "audio/mpeg",
    "ogg": "audio/ogg",
    "m4a": "audio/mp4",
    "aac": "audio/aac",
    "webm": "audio/webm",
}


def attach(fingering_id: int) -> AnyResponse | tuple[str, int]:
    """Attach a recording to a fingering."""
    form = TakeForm()
    if not form.validate():
        return render_entry(fingering_id, form), 422
    try:
        address = attach_from_form(fingering_id, form)
    except FieldRefused as error:
        add_refusal(form, error)
        return render_entry(fingering_id, form), error.status
    except (Refused, TooLarge) as error:
        form.clip.errors = [with_link(error)]
        return render_entry(fingering_id, form), error.status
    return redirect(address)


def show(take_id: int) -> str:
    """Show one take with everything that was measured."""
    notebook = current_notebook()
    page = open_take(notebook, take_id)
    measurement = page.take.measurement.read()
    whole = whole_view(measurement.duration_s, measurement.f0_hz)
    view = read_view(request.args, whole)
    return render_template(
        "takes/show.html",
        page=page,
        take=page.take,
        instrument=page.instrument,
        fingering=page.fingering,
        measurement=measurement,
        clip_problem=examine_clip(notebook, page.take),
        components=list_components(measurement, page.take, page.instrument),
        nearest=find_nearest_note(measurement, page),
        day=_find_day(page),
        offered=page.offered,
        missing=MISSING,
        view=view,
        moves=list_moves(view, whole),
        levels_query=query_of(view),
    )


def _find_day(page: TakePage) -> TakeDay | None:
    if page.fingering is None:
        return None
    days = open_days(current_notebook(), page.fingering, [page.take])
    return days.by_take.get(page.take.id)


def clip(take_id: int) -> Response:
    """Hand out a clip, or the part of it that a player asks for."""
    take, path = find_clip(current_notebook(), take_id)
    return send_file(
        path, mimetype=MEDIA_TYPES[take.clip_format], conditional=True, etag=take.sha256
    )


def attach_from_form(fingering_id: int, form: TakeForm) -> str:
    """Attach the recording in a form, and return the address of the page where it is.

    Raises:
        Refused, TooLarge: what is wrong with the recording or with what was said of it.
    """
    upload = read_clip(form.clip.data)
    note = note_from_form(form, upload.filename or "", moment_of_day(form.recorded_at.data))
    kept = attach_take_or_recording(current_notebook(), fingering_id, upload.stream, note)
    if kept is None:
        flash("The take is measured and kept.")
        return url_for("fingerings.show", fingering_id=fingering_id)
    wake_background()
    flash(
        f"This file lasts {kept.duration_s:.0f} s, longer than one held note, so it is kept as a "
        "long recording. Choose here which of its notes are this fingering."
    )
    return url_for("recordings.show", recording_id=kept.recording_id, of=fingering_id)


def note_from_form(
    form: TakeForm,
    original_name: str,
    recorded_at: datetime | None,
    *,
    is_watched: bool = False,
) -> TakeNote:
    """Return what a form says about its recording."""
    return TakeNote(
        original_name=original_name,
        recorded_at=recorded_at,
        dynamic=form.dynamic.data or None,
        air_temperature_c=form.air_temperature_c.number,
        tuning_a_hz=form.tuning_a_hz.number,
        is_watched=is_watched,
    )
