"""Questions about a piece: what its file cannot say, with the readings shown and heard."""

from collections.abc import Mapping

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.pitch import Tuning
from analysis.score import PartQuestion, QuestionTopic, ScoreError
from webapp.forms.entries import add_refusal
from webapp.forms.pieces import AnswerForm
from webapp.notebook.pieces.answering import (
    Answer,
    answer_question,
    ask_again,
    open_questions,
    set_tempo,
)
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.presenting.masthead import find_at_hand
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook, write_as

_USUAL_A_HZ = 440.0


def show(piece_id: int) -> str:
    """Show what has to be asked, and what was answered."""
    return _show(piece_id, {})


def _show(piece_id: int, forms: Mapping[QuestionTopic, AnswerForm]) -> str:
    page = open_questions(current_notebook(), piece_id)
    write_as(page.writing)
    every = {
        each.topic: forms.get(each.topic) or AnswerForm(formdata=None) for each in page.questions
    }
    current = find_at_hand(None).current
    tuning = Tuning(current.tuning_a_hz if current else _USUAL_A_HZ)
    return render_template(
        "pieces/questions.html",
        page=page,
        forms=every,
        melodies={each.topic: _list_melodies(each, tuning) for each in page.questions},
    )


def _list_melodies(question: PartQuestion, tuning: Tuning) -> list[str]:
    """Return what the readings sound like, in Hz with blanks between."""
    return [
        " ".join(f"{pitch.hz(tuning):.3f}" for pitch in reading.sounding)
        for reading in question.readings
    ]


def answer(piece_id: int, topic: str) -> Response | tuple[str, int]:
    """Keep an answer."""
    form, asked = AnswerForm(), _read_topic(topic)
    status = 422
    if form.validate():
        try:
            answer_question(current_notebook(), piece_id, asked, _read_answer(form))
        except FieldRefused as error:
            add_refusal(form, error)
        except (Refused, ScoreError) as error:
            form.form_errors.append(str(error))
        else:
            return _go_on(piece_id)
    return _show(piece_id, {asked: form}), status


def _read_answer(form: AnswerForm) -> Answer:
    sizes = {
        name.removeprefix("sign-"): value
        for name, value in request.form.items()
        if name.startswith("sign-")
    }
    notes = {
        int(name.removeprefix("note-")): value
        for name, value in request.form.items()
        if name.startswith("note-") and name.removeprefix("note-").isdecimal() and len(name) < 11
    }
    return Answer(
        form.choice.data or "", form.cents.data or "", form.beats.data or "", sizes, notes
    )


def _go_on(piece_id: int) -> Response:
    """Lead to the next question, or to the piece where none is left."""
    if open_questions(current_notebook(), piece_id).questions:
        return redirect(url_for("piece_questions.show", piece_id=piece_id))
    flash("Everything is answered. Each answer can be changed later.")
    return redirect(url_for("pieces.show", piece_id=piece_id))


def again(piece_id: int, topic: str) -> Response:
    """Take an answer back."""
    ask_again(current_notebook(), piece_id, _read_topic(topic))
    return redirect(url_for("piece_questions.show", piece_id=piece_id))


def change_tempo(piece_id: int) -> Response:
    """Keep the tempo that the player plays at."""
    try:
        set_tempo(current_notebook(), piece_id, request.form.get("beats", "")[:20])
    except FieldRefused as error:
        flash(show_refusal(error))
    return redirect(url_for("pieces.show", piece_id=piece_id))


def _read_topic(topic: str) -> QuestionTopic:
    try:
        return QuestionTopic(topic.replace("-", " "))
    except ValueError as error:
        raise NotInNotebook("There is no such question.") from error
