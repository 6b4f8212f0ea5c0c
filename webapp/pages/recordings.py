"""Long recordings: send one, watch it being split, say which fingering each note is."""

from dataclasses import dataclass

from flask import (
    Response,
    flash,
    jsonify,
    redirect,
    render_template,
    request,
    send_file,
    url_for,
)
from werkzeug.wrappers import Response as AnyResponse

from analysis.pitch import Sentence, format_cents
from webapp.forms.entries import add_refusal
from webapp.forms.practice import LongRecordingForm
from webapp.guards.uploads import read_clip
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.practice.practice import find_current_practice
from webapp.notebook.recordings.note_proposals import Order, Wish
from webapp.notebook.recordings.recordings import (
    Found,
    RecordingPage,
    add_recording,
    assign_notes,
    find_recording,
    find_recording_clip,
    list_recordings,
    open_recording,
    try_again,
)
from webapp.notebook.store.errors import FieldRefused, Refused, TooLarge
from webapp.notebook.store.rows import LongRecording
from webapp.notebook.takes.takes import TakeNote, moment_of_day
from webapp.pages.background import wake_background
from webapp.pages.refusal_links import with_link
from webapp.pages.takes import MEDIA_TYPES
from webapp.presenting.words import current_notebook

FIELD = "note-"
_WORDS = {
    "splitting": "Looking for the notes",
    "keeping": "Cutting the takes and measuring them",
    "ready": "Done",
    "failed": "Not done",
}


@dataclass(frozen=True, slots=True)
class NoteRow:
    """One note as the page lists it."""

    found: Found
    name: Sentence
    from_words: str
    length_words: str

    @property
    def field(self) -> str:
        """The name of its field in the form."""
        return f"{FIELD}{self.found.segment.id}"


def show_all(instrument_id: int) -> str | AnyResponse | tuple[str, int]:
    """List the long recordings of an instrument, and take in another one."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = LongRecordingForm()
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate():
            try:
                recording_id = _add(instrument_id, form)
            except FieldRefused as error:
                add_refusal(form, error)
            except (Refused, TooLarge) as error:
                form.clip.errors = [with_link(error)]
                status = error.status
            else:
                return redirect(url_for("recordings.show", recording_id=recording_id))
    page = render_template(
        "recordings/index.html",
        instrument=instrument,
        form=form,
        recordings=list_recordings(current_notebook(), instrument_id),
        practice=find_current_practice(current_notebook(), instrument_id),
    )
    return page, status


def show(recording_id: int) -> str:
    """Show how far the work is, or the notes with what is proposed for them."""
    return _render(recording_id)


def progress(recording_id: int) -> Response:
    """Tell a script how far the work is."""
    recording = find_recording(current_notebook(), recording_id)
    return jsonify(
        is_at_work=recording.is_at_work,
        done_share=recording.done_share,
        words=_progress_words(recording),
    )


def clip(recording_id: int) -> Response:
    """Hand out a long recording, or the part of it that a player asks for."""
    recording, path = find_recording_clip(current_notebook(), recording_id)
    return send_file(
        path, mimetype=MEDIA_TYPES[recording.clip_format], conditional=True, etag=recording.sha256
    )


def assign(recording_id: int) -> AnyResponse | tuple[str, int]:
    """Note which fingering each note is, and let the takes be cut."""
    choices = {
        int(name.removeprefix(FIELD)): value
        for name, value in request.form.items()
        if name.startswith(FIELD) and name.removeprefix(FIELD).isdecimal()
    }
    try:
        count = assign_notes(current_notebook(), recording_id, choices)
    except Refused as error:
        return _render(recording_id, problem=str(error)), error.status
    if count:
        wake_background()
    else:
        flash("The choices are kept; no take was asked for.")
    return redirect(url_for("recordings.show", recording_id=recording_id))


def again(recording_id: int) -> AnyResponse:
    """Try once more with a recording that failed; wake the work if it sleeps."""
    try_again(current_notebook(), recording_id)
    wake_background()
    return redirect(url_for("recordings.show", recording_id=recording_id))


def _add(instrument_id: int, form: LongRecordingForm) -> int:
    upload = read_clip(form.clip.data)
    note = TakeNote(
        original_name=upload.filename or "",
        recorded_at=moment_of_day(form.recorded_at.data),
        dynamic=form.dynamic.data or None,
        air_temperature_c=form.air_temperature_c.number,
        tuning_a_hz=form.tuning_a_hz.number,
    )
    recording_id = add_recording(current_notebook(), instrument_id, upload.stream, note)
    wake_background()
    return recording_id


def _render(recording_id: int, *, problem: str = "") -> str:
    wish = _read_wish()
    page = open_recording(current_notebook(), recording_id, wish)
    return render_template(
        "recordings/show.html",
        page=page,
        recording=page.recording,
        instrument=page.instrument,
        rows=[_row_of(page, each) for each in page.found],
        wish=wish,
        orders=tuple(Order),
        words=_progress_words(page.recording),
        problem=problem,
    )


def _read_wish() -> Wish:
    order = request.args.get("order", Order.PITCH.value)
    chosen = [each for each in request.args.getlist("of") if each.isdecimal() and len(each) < 12]
    return Wish(
        order=Order(order) if order in {each.value for each in Order} else Order.PITCH,
        fingering_ids=frozenset(int(each) for each in chosen),
    )


def _row_of(page: RecordingPage, found: Found) -> NoteRow:
    segment = found.segment
    return NoteRow(
        found=found,
        name=_name(page, found),
        from_words=_time_words(segment.from_s),
        length_words=f"{segment.to_s - segment.from_s:.1f} s",
    )


def _name(page: RecordingPage, found: Found) -> Sentence:
    """Name a note by the nearest written quarter tone, a trill by both of its notes and its pace.

    What has no pitch is called what it is.
    """
    verdict, rate_hz = found.segment.verdict, found.segment.rate_hz
    pace = f", {rate_hz:.1f} times a second" if rate_hz is not None else ""
    if found.alternating is not None:
        low, high = map(page.instrument.nearest_written, found.alternating)
        return Sentence(f"{verdict.capitalize()} from ", low, " to ", high, pace)
    if found.sounding is None:
        return Sentence(verdict.capitalize())
    written = page.instrument.nearest_written(found.sounding)
    away = page.instrument.transposition.to_sounding(written).interval_to(found.sounding)
    figure = f" {format_cents(away, decimals=0)} cents"
    return Sentence(written, figure, f", flutter-tongued{pace}" if pace else "")


def _time_words(seconds: float) -> str:
    return f"{int(seconds // 60)}:{seconds % 60:04.1f}"


def _progress_words(recording: LongRecording) -> str:
    words = _WORDS[recording.state]
    return f"{words}: {recording.done_share:.0%}" if recording.is_at_work else words
