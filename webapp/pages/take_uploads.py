"""Uploads from the page's microphone: takes and tuning notes as they are played, in JSON.

A take may come days after it was played, and twice when an answer was lost on its way: the same
recording again is answered with what is there already.
"""

from collections.abc import Callable, Sequence
from typing import IO, TypeVar

from flask import Response, abort, current_app, jsonify, request, url_for
from flask_wtf import FlaskForm
from flask_wtf.csrf import generate_csrf
from werkzeug.datastructures import CombinedMultiDict, MultiDict

from analysis.finder.strategies import Strategy
from analysis.pitch import Sentence
from analysis.recording import TakeMeasurement, explain, explain_warning
from webapp.forms.entries import SuggestedTakeForm, UploadedTakeForm
from webapp.forms.practice import UploadedTuningNoteForm
from webapp.guards.security import is_foreign
from webapp.guards.uploads import read_clip
from webapp.notebook.finder.suggested_takes import attach_suggested
from webapp.notebook.finder.tries import SuggestionNote
from webapp.notebook.finder.trying import log_try
from webapp.notebook.fingerings.sorting import keep_unsorted
from webapp.notebook.practice.tuning_notes import attach_tuning_note
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import DuplicateClip, FieldRefused
from webapp.notebook.takes.takes import (
    TakeNote,
    attach_take,
    expect_take,
    moment_of_day,
    open_take,
)
from webapp.pages.result_cache import current_result_cache
from webapp.pages.take_standings import describe_beside, describe_offset
from webapp.pages.takes import note_from_form
from webapp.presenting.notes import describe_sentence
from webapp.presenting.take_words import describe_standing, played_note
from webapp.presenting.words import current_notebook, current_writing

TakeFormKind = TypeVar("TakeFormKind", bound=UploadedTakeForm)

# Takes that wait in a browser outlast an upgrade: they come with the names that their fields had
# when they were kept.
EARLIER_NAMES = {"take_tuning_a_hz": "tuning_a_hz", "recorded_on": "recorded_at"}
CREATED, THERE_ALREADY = 201, 200
UNSORTED = "Kept as an unsorted take."


def token() -> Response:
    """Hand out what a page needs to send a take now, however long ago it was opened."""
    if is_foreign(request):
        abort(403)
    answer = jsonify(
        csrf_token=generate_csrf(),
        notebook=current_app.config["NOTEBOOK_MARK"],
        now=now_utc().isoformat(timespec="milliseconds"),
    )
    answer.cache_control.no_store = True
    answer.call_on_close(expect_take)
    return answer


def take(fingering_id: int) -> Response:
    """Keep and measure a take."""
    return _keep_take(lambda: fingering_id)


def take_of_try(suggestion_id: int) -> Response:
    """Keep and measure a take of what waits on the try list; its first take logs it."""
    return _keep_take(lambda: log_try(current_notebook(), suggestion_id))


def unsorted_take(instrument_id: int) -> Response:
    """Keep and measure a take that belongs to no fingering yet."""

    def attach(upload: IO[bytes], note: TakeNote, meant: str) -> int:
        # The page sends the canonical text, which does not change with the player's note names.
        return keep_unsorted(current_notebook(), instrument_id, upload, note, meant=meant)

    return _answer(attach)


def take_of_suggestion(instrument_id: int) -> Response:
    """Keep and measure a take of a suggestion; if it counts for the note, it logs the keys."""
    form = _read_take_form(SuggestedTakeForm)

    def attach(upload: IO[bytes], note: TakeNote, meant: str) -> int:
        suggestion = SuggestionNote(
            target=meant,
            keys=form.keys.data or "",
            base=form.base.data or "",
            strategy=Strategy(form.strategy.data),
            is_known=bool(form.is_known.data),
        )
        return attach_suggested(
            current_notebook(), current_result_cache(), instrument_id, suggestion, upload, note
        )

    return _answer(attach, form)


def _keep_take(find_fingering: Callable[[], int]) -> Response:
    """Keep a take of a fingering that is only looked for once a recording is there."""

    def attach(upload: IO[bytes], note: TakeNote, meant: str) -> int:
        del meant
        return attach_take(current_notebook(), find_fingering(), upload, note)

    return _answer(attach)


def _answer(
    attach: Callable[[IO[bytes], TakeNote, str], int], form: UploadedTakeForm | None = None
) -> Response:
    form = form or _read_take_form(UploadedTakeForm)
    if not form.validate():
        raise first_problem(form)
    upload = read_clip(form.clip.data)
    recorded_at = form.recorded_at.moment or moment_of_day(form.recorded_at.day)
    is_watched = bool(form.is_watched.data)
    note = note_from_form(form, upload.filename or "", recorded_at, is_watched=is_watched)
    status = CREATED
    try:
        take_id = attach(upload.stream, note, form.meant.data or "")
    except DuplicateClip as error:
        take_id, status = error.take_id, THERE_ALREADY
    answer = jsonify(_describe_take(take_id))
    answer.status_code = status
    answer.call_on_close(expect_take)
    return answer


def tuning_note(practice_id: int) -> Response:
    """Keep and measure a tuning note of a practice session."""
    form = UploadedTuningNoteForm()
    if not form.validate():
        raise first_problem(form)
    upload = read_clip(form.clip.data)
    kept = attach_tuning_note(
        current_notebook(),
        practice_id,
        upload.stream,
        written=form.written.data or "",
        original_name=upload.filename or "",
        names=current_writing().names,
        recorded_at=form.recorded_at.moment or moment_of_day(form.recorded_at.day),
        is_once=True,
    )
    answer = jsonify(
        note=kept.note_id,
        practice=practice_id,
        pooled=None,
        url=url_for("practice.show", practice_id=practice_id),
        **_describe(kept.measured, kept.offset_cents),
    )
    answer.status_code = CREATED if kept.is_new else THERE_ALREADY
    answer.call_on_close(expect_take)
    return answer


def _read_take_form(kind: type[TakeFormKind]) -> TakeFormKind:
    fields = MultiDict(request.form)
    for earlier, name in EARLIER_NAMES.items():
        if earlier in fields and not fields.get(name):
            fields[name] = fields[earlier]
    return kind(CombinedMultiDict((request.files, fields)))


def first_problem(form: FlaskForm) -> FieldRefused:
    """Return the first refusal of a form that is not shown again."""
    name, problems = next(iter(form.errors.items()))
    assert isinstance(problems, Sequence)  # only fields within fields have more
    return FieldRefused(name or "", str(problems[0]))


def _describe_take(take_id: int) -> dict[str, object]:
    page = open_take(current_notebook(), take_id)
    fingering = page.fingering
    return {
        "take": take_id,
        "fingering": fingering.id if fingering is not None else None,
        "counts": fingering is not None and page.take.counts,
        "played": describe_sentence(played_note(page.take, page.instrument)),
        "standing": describe_sentence(
            describe_standing(page.take, page.instrument) if fingering else Sentence(UNSORTED)
        ),
        "url": url_for("takes.show", take_id=take_id),
        **describe_beside(take_id),
        **_describe(page.take.measurement.read(), page.offset_cents),
    }


def _describe(measurement: TakeMeasurement, offset_cents: float | None) -> dict[str, object]:
    return {
        "verdict": measurement.verdict.value,
        "is_usable": measurement.is_usable,
        "words": explain(measurement),
        "spread_cents": measurement.spread_cents,
        "f0_hz": measurement.f0_hz,
        "warnings": [explain_warning(each) for each in measurement.warnings],
        **describe_offset(offset_cents, measurement.f0_uncertainty_cents),
    }
