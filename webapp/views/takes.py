"""Takes: attach a recording, look at it, listen to it."""

from datetime import UTC, datetime, time

from flask import Blueprint, Response, flash, redirect, render_template, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from webapp.errors import FieldRefused, Refused, TooLarge
from webapp.forms import TakeForm, add_refusal
from webapp.presenting import current_notebook
from webapp.services.takes import TakeNote, attach_take, find_clip, open_take
from webapp.uploads import read_clip
from webapp.views.entry import render_entry

blueprint = Blueprint("takes", __name__)

MEDIA_TYPES = {"wav": "audio/wav", "flac": "audio/flac", "mp3": "audio/mpeg", "ogg": "audio/ogg"}
RENAMED = {"tuning_a_hz": "take_tuning_a_hz", "recorded_at": "recorded_on"}


@blueprint.post("/fingerings/<int:fingering_id>/takes")
def attach(fingering_id: int) -> AnyResponse | tuple[str, int]:
    """Attach a recording to a fingering."""
    form = TakeForm()
    if not form.validate():
        return render_entry(fingering_id, form), 422
    try:
        attach_from_form(fingering_id, form)
    except FieldRefused as error:
        add_refusal(form, error, RENAMED)
        return render_entry(fingering_id, form), error.status
    except (Refused, TooLarge) as error:
        form.clip.errors = [str(error)]
        return render_entry(fingering_id, form), error.status
    return redirect(url_for("fingerings.show", fingering_id=fingering_id))


@blueprint.get("/takes/<int:take_id>")
def show(take_id: int) -> str:
    """Show one take with everything that was measured."""
    page = open_take(current_notebook(), take_id)
    return render_template(
        "takes/show.html",
        take=page.take,
        fingering=page.fingering,
        measurement=page.take.measurement.read(),
    )


@blueprint.get("/takes/<int:take_id>/clip")
def clip(take_id: int) -> Response:
    """Hand out a clip, or the part of it that a player asks for."""
    take, path = find_clip(current_notebook(), take_id)
    return send_file(
        path, mimetype=MEDIA_TYPES[take.clip_format], conditional=True, etag=take.sha256
    )


def attach_from_form(fingering_id: int, form: TakeForm) -> int:
    """Attach the recording in a form.

    Raises:
        Refused, TooLarge: what is wrong with the recording or with what was said of it.
    """
    upload = read_clip(form.clip.data)
    day = form.recorded_on.data
    note = TakeNote(
        original_name=upload.filename or "",
        recorded_at=datetime.combine(day, time(12), tzinfo=UTC) if day else None,
        dynamic=form.dynamic.data or None,
        air_temperature_c=form.air_temperature_c.number,
        tuning_a_hz=form.take_tuning_a_hz.number,
    )
    take_id = attach_take(current_notebook(), fingering_id, upload.stream, note)
    flash("The take is measured and kept.")
    return take_id
