"""Questions of a piece, each asked once: open, answered, and asked again.

An answer is one of the readings that a question offers, or a figure or notes that the player types.
All answers together are `ReadingSettings`; what they lead to is read anew, nothing is copied.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.pitch import NoteNames, WrittenPitch, parse_pitch
from analysis.pitch.lexicon import fold, parse_number
from analysis.score import (
    PartQuestion,
    QuestionTopic,
    ReadingSettings,
    ScorePart,
    TempoAnswer,
    TrillAnswer,
    UnsuitableSetting,
    settings_to_plain,
)
from webapp.notebook.pieces.importing import choose_part
from webapp.notebook.pieces.originals import find_original, read_piece, settings_of
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Piece

SLOWEST, FASTEST = 10, 400
SIZED = (QuestionTopic.ARROWS, QuestionTopic.STROKED_SIGNS)
_FIELDS = {
    QuestionTopic.PITCH: ("is_sounding", "transposition_cents"),
    QuestionTopic.ARROWS: ("arrow_cents",),
    QuestionTopic.STROKED_SIGNS: ("stroked_cents",),
    QuestionTopic.UNKNOWN_SIGNS: ("sign_cents",),
    QuestionTopic.SIGN_LASTS: ("sign_lasts",),
    QuestionTopic.VOICE: ("voice",),
    QuestionTopic.TRILLS: ("trills",),
    QuestionTopic.TEMPO: ("tempos",),
}
"""Part of the settings that a topic decides; which part it is, the original itself does."""
_FIGURE = re.compile(r"[0-9]{1,6}([.,][0-9]{1,6}|/[1-9][0-9]{0,5})?")


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer: a reading that was chosen, or what was typed.

    `cents` is the size of an arrow or stroked sign, `beats` quarter notes a minute; `signs` are
    sizes by the name of the sign, `notes` second notes of trills by their place in the question.
    """

    choice: str = ""
    cents: str = ""
    beats: str = ""
    signs: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """An answer that stands, in words, and can be taken back."""

    topic: QuestionTopic
    words: str


@dataclass(frozen=True, slots=True)
class QuestionsPage:
    """A piece with what has to be asked, and what was answered."""

    piece: Piece
    part: ScorePart
    given: tuple[GivenAnswer, ...]
    writing: Writing

    @property
    def questions(self) -> tuple[PartQuestion, ...]:
        """The open ones."""
        return self.part.questions


def open_questions(notebook: Notebook, piece_id: int) -> QuestionsPage:
    """Return what has to be asked about a piece, and what was answered.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        part = read_piece(session, notebook, piece, find_original(session, piece_id))
        return QuestionsPage(piece, part, list_given(part.settings), find_preferences(session))


def list_given(settings: ReadingSettings) -> tuple[GivenAnswer, ...]:
    """Return the answers that stand."""
    told: list[tuple[QuestionTopic, str]] = []
    if settings.transposition_cents is not None or settings.is_sounding is not None:
        kind = "sounding pitch" if settings.is_sounding else "written pitch"
        semitones = (settings.transposition_cents or 0) / 100
        told.append((QuestionTopic.PITCH, f"{kind}, sounds {semitones:+g} semitones from written"))
    if settings.arrow_cents is not None:
        told.append((QuestionTopic.ARROWS, f"an arrow is {float(settings.arrow_cents):g} cents"))
    if settings.stroked_cents is not None:
        size = f"{float(settings.stroked_cents):g} cents"
        told.append((QuestionTopic.STROKED_SIGNS, f"a stroked sign is {size}"))
    if settings.sign_cents:
        sizes = ", ".join(f"{name}: {float(cents):g} cents" for name, cents in settings.sign_cents)
        told.append((QuestionTopic.UNKNOWN_SIGNS, sizes.replace("smufl:", "")))
    if settings.sign_lasts is not None:
        lasts = {"bar": "through the bar", "note": "for its note alone"}
        words = lasts.get(settings.sign_lasts, "for its note and immediate repetitions")
        told.append((QuestionTopic.SIGN_LASTS, f"a sign holds {words}"))
    if settings.voice is not None:
        told.append((QuestionTopic.VOICE, f"yours is {settings.voice}"))
    if settings.trills:
        count = len(settings.trills)
        told.append((QuestionTopic.TRILLS, f"second notes of {count} trills"))
    for tempo in settings.tempos[:1]:
        figure = f"{float(tempo.quarters_per_minute):g} quarter notes a minute"
        told.append((QuestionTopic.TEMPO, figure))
    return tuple(GivenAnswer(topic, words) for topic, words in told)


def answer_question(
    notebook: Notebook, piece_id: int, topic: QuestionTopic, answer: Answer
) -> None:
    """Keep the answer to a question.

    Raises:
        NotInNotebook: there is no such piece.
        Refused: the question is not open (any more).
        FieldRefused: the answer cannot be read.
    """
    if topic is QuestionTopic.PART:
        number = answer.choice
        if not (number.isdecimal() and len(number) < 4):
            raise FieldRefused("choice", "Choose the part that is yours.")
        choose_part(notebook, piece_id, int(number))
        return
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        part = read_piece(session, notebook, piece, find_original(session, piece_id))
        question = next((each for each in part.questions if each.topic is topic), None)
        if question is None:
            raise Refused("This is answered already. To change it, let it be asked again.")
        names = find_preferences(session).names
        _keep(session, notebook, piece, _read_answer(question, answer, part, names))


def ask_again(notebook: Notebook, piece_id: int, topic: QuestionTopic) -> None:
    """Take an answer back, so that the question is open again.

    Raises:
        NotInNotebook: there is no such piece.
    """
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        plain = settings_to_plain(settings_of(piece))
        for name in _FIELDS.get(topic, ()):
            plain.pop(name, None)
        piece.answers = json.dumps(plain)
        piece.version += 1


def set_tempo(notebook: Notebook, piece_id: int, beats: str) -> None:
    """Keep the tempo that the player plays a piece at, in quarter notes a minute.

    Raises:
        NotInNotebook: there is no such piece.
        FieldRefused: it is no tempo.
    """
    with notebook.database.writing() as session:
        piece = fetch(session, Piece, piece_id)
        settings = settings_of(piece)
        tempo = TempoAnswer(0, _read_beats(beats))
        others = tuple(each for each in settings.tempos if each.bar != 0)
        _keep(session, notebook, piece, replace(settings, tempos=(tempo, *others)))


def _keep(session: Session, notebook: Notebook, piece: Piece, settings: ReadingSettings) -> None:
    """Keep answers that the part can be read under."""
    before = piece.answers
    piece.answers = json.dumps(settings_to_plain(settings))
    try:
        read_piece(session, notebook, piece, find_original(session, piece.id))
    except AnalysisError as error:
        piece.answers = before
        raise FieldRefused("choice", str(error)) from error
    piece.version += 1


def _read_answer(
    question: PartQuestion, answer: Answer, part: ScorePart, names: NoteNames
) -> ReadingSettings:
    settings = part.settings
    if question.topic is QuestionTopic.TEMPO:
        bar = question.bars[0] if question.bars else 0
        tempo = TempoAnswer(bar, _read_beats(answer.beats))
        return replace(settings, tempos=(*settings.tempos, tempo))
    if question.topic is QuestionTopic.TRILLS:
        return replace(settings, trills=_read_trills(question, answer, settings, names))
    if question.topic is QuestionTopic.UNKNOWN_SIGNS:
        known = dict(settings.sign_cents)
        known |= {name: _read_cents(answer.signs.get(name, "")) for name in question.signs}
        try:
            return replace(settings, sign_cents=tuple(known.items()))
        except UnsuitableSetting as error:
            raise FieldRefused("cents", str(error)) from error
    if question.topic in SIZED and answer.cents.strip():
        return _take_size(question.topic, settings, _read_cents(answer.cents))
    chosen = next((each for each in question.readings if each.answer == answer.choice), None)
    if chosen is None or chosen.settings is None:
        raise FieldRefused("choice", "Choose one of the answers.")
    return chosen.settings


def _take_size(topic: QuestionTopic, settings: ReadingSettings, cents: Fraction) -> ReadingSettings:
    try:
        if topic is QuestionTopic.ARROWS:
            return replace(settings, arrow_cents=cents)
        return replace(settings, stroked_cents=cents)
    except UnsuitableSetting as error:
        raise FieldRefused("cents", str(error)) from error


def _read_trills(
    question: PartQuestion, answer: Answer, settings: ReadingSettings, names: NoteNames
) -> tuple[TrillAnswer, ...]:
    """Take each second note as typed, or as it is assumed where nothing was typed."""
    found = {(each.bar, each.onset): each for each in settings.trills}
    for index, (place, reading) in enumerate(zip(question.places, question.readings, strict=True)):
        typed = answer.notes.get(index, "").strip()
        if typed:
            found[place] = TrillAnswer(*place, _read_note(typed, index, names))
        elif len(reading.written) > 1:
            found[place] = TrillAnswer(*place, reading.written[1])
    return tuple(found.values())


def _read_note(typed: str, index: int, names: NoteNames) -> WrittenPitch:
    field_name = f"note-{index}"
    try:
        read = parse_pitch(typed, names=names)
    except AnalysisError as error:
        raise FieldRefused(field_name, str(error)) from error
    if not isinstance(read, WrittenPitch):
        raise FieldRefused(field_name, "Type a written note, such as E quarter-flat 5.")
    return read


def _read_cents(typed: str) -> Fraction:
    text = fold(typed).replace(" ", "")
    size = read_figure(text.removeprefix("-").removeprefix("+"))
    if size is None:
        raise FieldRefused("cents", "Give the size in cents, such as 33.3.")
    return -size if text.startswith("-") else size


def _read_beats(typed: str) -> Fraction:
    beats = read_figure(fold(typed).replace(" ", ""))
    if beats is None or not SLOWEST <= beats <= FASTEST:
        raise FieldRefused(
            "beats", f"Give from {SLOWEST} to {FASTEST} quarter notes a minute, such as 72."
        )
    return beats


def read_figure(text: str) -> Fraction | None:
    """Read 33.3, 33,3 or 100/3; None for anything else."""
    return parse_number(text) if _FIGURE.fullmatch(text) else None
