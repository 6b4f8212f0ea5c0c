"""Practices: begin, give a tuning note, end, look back."""

from dataclasses import dataclass

from flask import Response, flash, redirect, render_template, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse
from wtforms import SelectChoice

from analysis.pitch import format_cents
from webapp.forms.entries import PressForm, add_refusal, read_count
from webapp.forms.practice import (
    FactsForm,
    GapsForm,
    LeaveOutForm,
    PracticeForm,
    TuningNoteForm,
    TuningTakeForm,
    TypedTargetsForm,
)
from webapp.guards.uploads import read_clip
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.practice.practice import (
    PracticeDraft,
    PracticePage,
    end_practice,
    learn_room_warming,
    list_practices,
    open_practice,
    start_practice,
)
from webapp.notebook.practice.practice_summary import summarise_practice
from webapp.notebook.practice.tuning_notes import (
    attach_tuning_note,
    choose_tuning_take,
    find_tuning_clip,
    leave_out_note,
    tuning_notes_of,
)
from webapp.notebook.store.errors import FieldRefused, Refused, TooLarge
from webapp.notebook.takes.tuning_reference import MISSING
from webapp.pages.takes import MEDIA_TYPES
from webapp.presenting.words import current_notebook, current_writing, pitch_words


@dataclass(frozen=True, slots=True)
class PracticeForms:
    """The forms of a practice's page; the one that came back is here, the others are made anew."""

    take: TuningTakeForm | None = None
    note: TuningNoteForm | None = None
    press: PressForm | None = None
    facts: FactsForm | None = None
    typed: TypedTargetsForm | None = None
    gaps: GapsForm | None = None


def show_all(instrument_id: int) -> str | AnyResponse | tuple[str, int]:
    """List the practices of an instrument, and begin one."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = PracticeForm()
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate():
            try:
                practice_id = start_practice(current_notebook(), instrument_id, _draft(form))
            except FieldRefused as error:
                add_refusal(form, error)
            except Refused as error:
                form.form_errors.append(str(error))
            else:
                flash("The session has begun: takes you attach now belong to it.")
                return redirect(url_for("practice.show", practice_id=practice_id))
    summaries = list_practices(current_notebook(), instrument_id)
    page = render_template(
        "practice/index.html",
        instrument=instrument,
        form=form,
        summaries=summaries,
        warming=learn_room_warming(summaries),
        current=next((each.practice for each in summaries if each.is_open), None),
    )
    return page, status


def show(practice_id: int) -> str:
    """Show a practice with its takes."""
    return render_practice(practice_id, PracticeForms())


def end(practice_id: int) -> AnyResponse:
    """End a practice."""
    end_practice(current_notebook(), practice_id)
    flash("The session has ended.")
    return redirect(url_for("practice.show", practice_id=practice_id))


def choose_take(practice_id: int) -> AnyResponse | tuple[str, int]:
    """Let a take be a tuning note of the day."""
    form = TuningTakeForm()
    try:
        choose_tuning_take(current_notebook(), practice_id, read_count(form.take) or 0)
    except FieldRefused as error:
        add_refusal(form, error)
        return render_practice(practice_id, PracticeForms(take=form)), error.status
    flash("That take is a tuning note of this session.")
    return redirect(url_for("practice.show", practice_id=practice_id))


def attach_note(practice_id: int) -> AnyResponse | tuple[str, int]:
    """Keep a recording of the tuning note."""
    form = TuningNoteForm()
    if not form.validate():
        return render_practice(practice_id, PracticeForms(note=form)), 422
    try:
        upload = read_clip(form.clip.data)
        attach_tuning_note(
            current_notebook(),
            practice_id,
            upload.stream,
            written=form.written.data or "",
            original_name=upload.filename or "",
            names=current_writing().names,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return render_practice(practice_id, PracticeForms(note=form)), error.status
    except (Refused, TooLarge) as error:
        form.clip.errors = [str(error)]
        return render_practice(practice_id, PracticeForms(note=form)), error.status
    flash("The tuning note is measured and kept.")
    return redirect(url_for("practice.show", practice_id=practice_id))


def leave_out(practice_id: int, note_id: int) -> AnyResponse:
    """Leave a tuning note out, or let it count again."""
    is_left_out = bool(LeaveOutForm().is_left_out.data)
    leave_out_note(current_notebook(), practice_id, note_id, is_left_out=is_left_out)
    flash("That tuning note is left out." if is_left_out else "That tuning note counts again.")
    return redirect(url_for("practice.show", practice_id=practice_id, _anchor="tuning"))


def clip(practice_id: int) -> Response:
    """Hand out the recording of the tuning note."""
    note, path = find_tuning_clip(current_notebook(), practice_id)
    return send_file(
        path,
        mimetype=MEDIA_TYPES[note.clip_format or ""],
        conditional=True,
        etag=note.sha256 or True,
    )


def _draft(form: PracticeForm) -> PracticeDraft:
    return PracticeDraft(
        tuning_a_hz=form.tuning_a_hz.number,
        air_temperature_c=form.air_temperature_c.number,
        notes=form.notes.data or "",
        reed=form.reed.data or "",
        barrel_pull_mm=form.barrel_pull_mm.number,
    )


def render_practice(practice_id: int, forms: PracticeForms) -> str:
    """Render the page of a practice; a form that was refused stands there with what is wrong."""
    page = open_practice(current_notebook(), practice_id)
    chosen = forms.take or TuningTakeForm(formdata=None)
    chosen.take.choices = _take_choices(page)
    return render_template(
        "practice/show.html",
        page=page,
        practice=page.practice,
        instrument=page.instrument,
        outcome=summarise_practice(current_notebook(), practice_id),
        take_form=chosen,
        note_form=forms.note or TuningNoteForm(formdata=None),
        press_form=forms.press or PressForm(formdata=None),
        facts_form=forms.facts or _facts_form(page),
        typed_form=forms.typed or TypedTargetsForm(formdata=None),
        gaps_form=forms.gaps or GapsForm(formdata=None),
        missing=MISSING,
        tuning_notes=tuning_notes_of(page.instrument.kind),
    )


def _facts_form(page: PracticePage) -> FactsForm:
    practice = page.practice
    return FactsForm(
        formdata=None,
        tuning_a_hz=_typed(practice.tuning_a_hz),
        air_temperature_c=_typed(practice.air_temperature_c),
        reed=practice.reed or "",
        barrel_pull_mm=_typed(practice.barrel_pull_mm),
    )


def _typed(number: float | None) -> str:
    return "" if number is None else f"{number:g}"


def _take_choices(page: PracticePage) -> list[SelectChoice]:
    return [
        SelectChoice(
            str(each.take.id),
            f"{pitch_words(each.take.owner.written)}, {format_cents(each.offset.offset_cents)} "
            f"cents, {each.take.recorded_at:%H:%M}",
        )
        for each in page.takes
        if each.offset is not None
    ]
