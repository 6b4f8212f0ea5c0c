"""Questions of a piece: answered by a reading or by what is typed, and asked again."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.score import QuestionTopic
from tests.analysis.notation.scores import bar, note
from tests.webapp.notebook.pieces.filling import add_score, add_typed_piece
from webapp.notebook.pieces.answering import (
    Answer,
    answer_question,
    ask_again,
    open_questions,
    set_tempo,
)
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.notebook import Notebook

UNKNOWN = note("E5", '<accidental smufl="accidentalInventedThing">other</accidental>')


def topics(notebook: Notebook, piece: int) -> list[QuestionTopic]:
    return [each.topic for each in open_questions(notebook, piece).questions]


def first_alter(notebook: Notebook, piece: int) -> Fraction:
    return open_questions(notebook, piece).part.notes[0].written.alter_cents


@pytest.mark.parametrize(
    ("answer", "cents"),
    [(Answer(choice="25"), Fraction(25)), (Answer(cents="100/3"), Fraction(100, 3)),
     (Answer(choice="25", cents="16,5"), Fraction(33, 2))],
)  # fmt: skip
def test_an_arrow_is_answered_by_a_reading_or_a_figure_and_asked_again(
    notebook: Notebook, clarinet: int, answer: Answer, cents: Fraction
) -> None:
    piece = add_score(notebook, clarinet, bar(note("D5", "natural-up")))
    assert QuestionTopic.ARROWS in topics(notebook, piece)
    answer_question(notebook, piece, QuestionTopic.ARROWS, answer)
    assert QuestionTopic.ARROWS not in topics(notebook, piece)
    assert first_alter(notebook, piece) == cents
    assert [each.topic for each in open_questions(notebook, piece).given] == [QuestionTopic.ARROWS]
    with pytest.raises(Refused, match="answered already"):
        answer_question(notebook, piece, QuestionTopic.ARROWS, answer)
    ask_again(notebook, piece, QuestionTopic.ARROWS)
    assert QuestionTopic.ARROWS in topics(notebook, piece)


@pytest.mark.parametrize("typed", ["", "many", "1e9", "50/0", "300"])
def test_what_is_no_size_is_refused_and_nothing_changes(
    notebook: Notebook, clarinet: int, typed: str
) -> None:
    piece = add_score(notebook, clarinet, bar(note("D5", "natural-up")))
    with pytest.raises(FieldRefused):
        answer_question(notebook, piece, QuestionTopic.ARROWS, Answer(cents=typed))
    assert open_questions(notebook, piece).given == ()


def test_a_tempo_is_typed_and_can_be_set_anew(notebook: Notebook, clarinet: int) -> None:
    piece = add_typed_piece(notebook, clarinet, text="D5 -50 (1/4)")
    assert topics(notebook, piece) == [QuestionTopic.TEMPO]
    for wrong in ("5", "fast", "500"):
        with pytest.raises(FieldRefused, match="quarter notes a minute"):
            answer_question(notebook, piece, QuestionTopic.TEMPO, Answer(beats=wrong))
    answer_question(notebook, piece, QuestionTopic.TEMPO, Answer(beats="60"))
    page = open_questions(notebook, piece)
    assert page.part.duration_s(page.part.notes[0]) == pytest.approx(1.0)
    set_tempo(notebook, piece, "120")
    page = open_questions(notebook, piece)
    assert page.part.duration_s(page.part.notes[0]) == pytest.approx(0.5)


def test_every_answer_says_what_it_was(notebook: Notebook, clarinet: int) -> None:
    two = note("E5", "natural-up") + note("D5", "slash-flat")
    piece = add_score(notebook, clarinet, bar(note("D5"), two), transposition=None, name="")
    words = []
    for topic in topics(notebook, piece):
        question = next(
            each for each in open_questions(notebook, piece).questions if each.topic is topic
        )
        choice = question.readings[0].answer if question.readings else ""
        answer_question(notebook, piece, topic, Answer(choice=choice, beats="66"))
        words = [each.words for each in open_questions(notebook, piece).given]
    assert topics(notebook, piece) == []
    assert len(words) >= 3
    assert "an arrow is 50 cents" in words
