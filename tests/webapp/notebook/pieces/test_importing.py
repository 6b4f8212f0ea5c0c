"""Pieces brought in, and brought in again: what is kept, what moves, what changed."""

from __future__ import annotations

import hashlib
from fractions import Fraction
from io import BytesIO

import pytest

from analysis.pitch import NoteNames
from analysis.score import EmptyScore, NotAScore, QuestionTopic, UnreadableTypedPart
from tests.analysis.notation.scores import bar, note
from tests.webapp.logging_rows import log
from tests.webapp.notebook.pieces.filling import (
    TEXT,
    add_score,
    add_typed_piece,
    score_source,
    written,
)
from webapp.notebook.pieces.answering import Answer, answer_question, open_questions
from webapp.notebook.pieces.decisions import FixPlace, fix, settle
from webapp.notebook.pieces.importing import PieceDraft, add_piece, import_again
from webapp.notebook.pieces.originals import Source, find_original
from webapp.notebook.pieces.pieces import open_changes, open_head, open_piece
from webapp.notebook.preferences.preferences import Writing, change_preferences
from webapp.notebook.safekeeping.bin import empty_bin, list_bin, put_in_bin, restore
from webapp.notebook.safekeeping.checking import check_clips
from webapp.notebook.store.errors import FieldRefused, NotInNotebook
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import PieceOriginal, Settlement

TRILL = "<ornaments><trill-mark/></ornaments>"
FIRST = bar(note("D5 -0.5", "quarter-flat"), note("E5"))
SECOND = bar(note("F5"), note("G5", notations=TRILL), note("A5"), number="2")
THIRD = bar(note("B4 -0.5", "quarter-flat"), number="3")


def test_a_piece_keeps_its_original_by_hash_and_says_what_is_to_do(
    notebook: Notebook, clarinet: int
) -> None:
    source = score_source(FIRST, SECOND)
    assert source.file is not None
    data = source.file.read()
    source.file.seek(0)
    piece = add_piece(notebook, PieceDraft(source, (clarinet,)))
    page = open_piece(notebook, piece)
    assert page.piece.title == "study"
    assert [each.need.written.canonical for each in page.todo.notes] == ["D5-50c"]
    assert page.todo.open_bars == (0,)
    with notebook.database.reading() as session:
        original = find_original(session, piece)
    assert notebook.clips.find(original.clip_name).read_bytes() == data
    assert original.sha256 == hashlib.sha256(data).hexdigest()
    assert check_clips(notebook).is_sound


@pytest.mark.parametrize(
    ("source", "error", "words"),
    [
        (Source(text="D5 -50, what"), UnreadableTypedPart, "Bar 1, note 2"),
        (Source(text=""), EmptyScore, "nothing in it"),
        (Source(file=BytesIO(b"%PDF-1.7 picture"), name="part.pdf"), NotAScore, "PDF"),
        (Source(file=BytesIO(b"\xff\xfe\x00"), name="part.txt"), UnreadableTypedPart, "UTF-8"),
    ],
)
def test_what_cannot_be_read_leaves_nothing(
    notebook: Notebook, clarinet: int, source: Source, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        add_piece(notebook, PieceDraft(source, (clarinet,)))
    assert notebook.clips.names() == frozenset()


def test_an_instrument_has_to_be_chosen_and_be_there(notebook: Notebook) -> None:
    with pytest.raises(FieldRefused, match="Choose the instrument"):
        add_typed_piece(notebook)
    with pytest.raises(NotInNotebook):
        add_typed_piece(notebook, 77)
    assert notebook.clips.names() == frozenset()


def test_typed_text_sounds_as_its_instrument_and_is_kept_as_typed(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_typed_piece(notebook, clarinet)
    page = open_piece(notebook, piece)
    assert QuestionTopic.PITCH not in [each.topic for each in page.asked.questions]
    assert open_head(notebook, piece).text == TEXT
    assert page.asked.notes[0].sounding.cents == pytest.approx(7150)


def test_a_second_import_keeps_answers_and_decisions_at_their_bars(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_score(notebook, clarinet, FIRST, SECOND, THIRD)
    fingering = log(notebook, clarinet, "Bqf4", "T 123 | 12-")
    fix(notebook, piece, fingering, FixPlace(written("B4-50c"), bar=2))
    fix(notebook, piece, fingering, FixPlace(written("B4-50c")))
    settle(notebook, piece, clarinet, written("D5-50c"), Settlement.ASK, "is it meant?")
    answer_question(notebook, piece, QuestionTopic.TRILLS, Answer(notes={0: "A quarter-flat 5"}))
    new = bar(note("C5"), number="1a")
    again = bar(note("B4 -0.5", "quarter-flat"), note("C5"), number="3")
    compared = import_again(notebook, piece, score_source(new, FIRST, SECOND, again))

    assert dict(compared.index_now) == {0: 1, 1: 2, 2: 3}
    assert [(each.label_before, each.label_now) for each in compared.changes] == [
        ("", "1a"), ("3", "3"),
    ]  # fmt: skip
    assert open_changes(notebook, piece).comparison == compared
    page = open_piece(notebook, piece)
    assert [each.kind for each in page.decisions.fixed] == ["note", "pitch"]
    assert [each.bar for each in page.decisions.fixed] == [3, -1]
    assert [each.how for each in page.decisions.settled] == ["ask"]
    (trill,) = page.asked.settings.trills
    assert (trill.bar, trill.onset, trill.upper.canonical) == (2, Fraction(1), "A5-50c")
    assert page.has_earlier
    assert len(notebook.clips.names()) == 2


def test_what_was_fixed_in_a_bar_that_is_gone_goes(notebook: Notebook, clarinet: int) -> None:
    piece = add_score(notebook, clarinet, FIRST, SECOND, THIRD)
    fingering = log(notebook, clarinet, "Bqf4", "T 123 | 12-")
    fix(notebook, piece, fingering, FixPlace(written("B4-50c"), bar=2))
    compared = import_again(notebook, piece, score_source(FIRST, SECOND))
    assert [each.is_removed for each in compared.changes] == [True]
    assert open_piece(notebook, piece).decisions.fixed == ()


def test_a_transcript_of_an_earlier_form_is_read_from_the_original(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_score(notebook, clarinet, bar(note("C5 -0.25"), number="7"))
    with notebook.database.writing() as session:
        original = find_original(session, piece)
        session.query(PieceOriginal).filter_by(id=original.id).update(
            {"transcript": '{"version": 0}', "sha256": original.sha256}
        )
    page = open_questions(notebook, piece)
    assert page.part.bars[0].label == "7"


def test_a_piece_goes_through_the_bin_and_its_files_with_it(
    notebook: Notebook, clarinet: int
) -> None:
    piece = add_score(notebook, clarinet, FIRST)
    import_again(notebook, piece, score_source(FIRST, SECOND))
    put_in_bin(notebook, "piece", piece)
    with pytest.raises(NotInNotebook, match="in the bin"):
        open_piece(notebook, piece)
    assert [each.id for each in list_bin(notebook).pieces] == [piece]
    assert restore(notebook, "piece", piece)
    assert open_piece(notebook, piece).has_earlier
    put_in_bin(notebook, "piece", piece)
    assert empty_bin(notebook) == 2
    assert notebook.clips.names() == frozenset()
    assert list_bin(notebook).is_empty


def test_typed_text_is_shown_in_the_note_names_of_today(notebook: Notebook, clarinet: int) -> None:
    piece = add_typed_piece(notebook, clarinet, text="1: B4 (1/4), Bb4")
    change_preferences(notebook, Writing(names=NoteNames.GERMAN))
    text = open_head(notebook, piece).text
    assert text.startswith("1: H4")
    source = Source(text=text, names=NoteNames.GERMAN)
    assert import_again(notebook, piece, source).changes == ()
