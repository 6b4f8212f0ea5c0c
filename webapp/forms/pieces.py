"""The forms about pieces, as they arrive; meaning is judged by the verbs."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import FileField, MultipleFileField
from wtforms import HiddenField, SelectChoice, StringField, TextAreaField
from wtforms.validators import InputRequired, NumberRange, Optional

from analysis.planning import Emphasis
from analysis.score.typed import MOST_CHARACTERS
from webapp.forms.fields import (
    AtMost,
    ChoiceField,
    CountField,
    DayField,
    KeysField,
    NumberField,
    OneOfField,
)
from webapp.forms.finder import AddressForm
from webapp.forms.signs import SYSTEMS
from webapp.notebook.pieces.day_lists import LEAST_MINUTES, MINUTES, MOST_MINUTES
from webapp.notebook.pieces.decisions import REASON_CHARACTERS
from webapp.notebook.pieces.letters import LETTER_CHARACTERS
from webapp.notebook.pieces.originals import TITLE_CHARACTERS
from webapp.notebook.pieces.practising import ListOrder
from webapp.notebook.pieces.printing import SheetKind
from webapp.notebook.store.rows import Settlement

NOTES_CHARACTERS = 400
FITTING_MINUTES = NumberRange(
    LEAST_MINUTES, MOST_MINUTES, f"Choose {LEAST_MINUTES} to {MOST_MINUTES} minutes."
)


class SourceForm(FlaskForm):
    """A score file or typed notes; the file last, so that text arrives first."""

    text = TextAreaField("Notes, bar by bar", [AtMost(MOST_CHARACTERS)])
    part_number = CountField("Number of your part in the score", [Optional()])
    score = FileField("Score file")


class PieceForm(SourceForm):
    """A new piece."""

    title = StringField("Title", [AtMost(TITLE_CHARACTERS)])
    composer = StringField("Composer", [AtMost(TITLE_CHARACTERS)])
    instruments = KeysField("Played on")
    pages = MultipleFileField("PDF, or photos of the part")


class HeadForm(FlaskForm):
    """Title and composer of a piece."""

    title = StringField(
        "Title", [InputRequired("Give it a title you will recognise."), AtMost(TITLE_CHARACTERS)]
    )
    composer = StringField("Composer", [AtMost(TITLE_CHARACTERS)])
    concert_on = DayField("Day of the concert", [Optional()])
    instruments = KeysField("Played on")
    version = HiddenField()


class DayListForm(AddressForm):
    """How long a day's list may take."""

    minutes = CountField("Minutes a day", [Optional(), FITTING_MINUTES], default=MINUTES)


class PractisePieceForm(FlaskForm):
    """Which notes of a piece go to the stand."""

    order = ChoiceField(
        "Order",
        choices=[SelectChoice(each.value) for each in ListOrder],
        default=ListOrder.PRESSING.value,
    )
    minutes = CountField("Minutes a day", [Optional(), FITTING_MINUTES], default=MINUTES)


class AnswerForm(FlaskForm):
    """An answer to a question; signs and second notes have fields of their own beside it."""

    choice = StringField("Answer", [AtMost(80)])
    cents = StringField("Or in cents", [AtMost(20)])
    beats = StringField("Quarter notes a minute", [AtMost(20)])


class SettleForm(FlaskForm):
    """The word that settles a note."""

    note = StringField("Note", [InputRequired("Say which note."), AtMost(80)])
    how = OneOfField("How", choices=[SelectChoice(each.value, each.words) for each in Settlement])
    reason = StringField("Why", [AtMost(REASON_CHARACTERS)])


class ComposersForm(FlaskForm):
    """A fingering printed in the part."""

    notes = StringField(
        "Note, or notes of a multiphonic",
        [InputRequired("Type the note it stands at."), AtMost(NOTES_CHARACTERS)],
    )
    keys = StringField(
        "Keys", [InputRequired("Type the keys, such as T R 123 | 1--."), AtMost(NOTES_CHARACTERS)]
    )


class FixForm(FlaskForm):
    """A fingering that is fixed for notes of a piece."""

    fingering = ChoiceField("Fingering", validate_choice=False)
    place = ChoiceField("For", validate_choice=False)


class RunForm(FlaskForm):
    """A passage that was played through, and its recording; the file last."""

    first_bar = CountField("From bar", [InputRequired("Choose the bars that you play.")])
    last_bar = CountField("To bar", [InputRequired("Choose the bars that you play.")])
    tempo = NumberField("Quarter notes a minute", [InputRequired("Say the tempo, such as 72.")])
    clip = FileField("Recording")


class PassageForm(FlaskForm):
    """A passage: bars, tempo, and the one switch."""

    bars = StringField("Bars", [AtMost(40)])
    tempo = NumberField("Quarter notes a minute")
    emphasis = ChoiceField(
        "Fingered to be", choices=[SelectChoice(each.value, each.value) for each in Emphasis]
    )


class LetterForm(FlaskForm):
    """The letter to the composer as the player edits it."""

    text = TextAreaField("Letter", [AtMost(LETTER_CHARACTERS)])
    version = HiddenField()


class SheetForm(FlaskForm):
    """How a sheet is printed."""

    paper = ChoiceField(
        "Paper", choices=[SelectChoice("a4", "A4"), SelectChoice("letter", "Letter")]
    )
    kind = ChoiceField(
        "Layout",
        choices=[
            SelectChoice(SheetKind.BARS, "bar by bar"),
            SelectChoice(SheetKind.STRIPS, "the hard bars as music"),
        ],
    )
    signs = ChoiceField("Signs", choices=[SelectChoice("", "as in the preferences"), *SYSTEMS])
