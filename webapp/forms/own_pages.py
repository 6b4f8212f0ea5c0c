"""The forms about own pages, as they arrive; meaning is judged by the verbs."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import MultipleFileField
from wtforms import HiddenField, SelectChoice, StringField

from webapp.forms.fields import AtMost, ChoiceField, NumberField
from webapp.forms.notes import NoteField
from webapp.forms.pieces import NOTES_CHARACTERS
from webapp.notebook.own_pages.marks import LABEL_CHARACTERS
from webapp.notebook.store.rows import MarkForm

FORMS = [
    SelectChoice(MarkForm.DRAWING.value, "a drawing"),
    SelectChoice(MarkForm.LETTER.value, "a letter"),
]


class PagesForm(FlaskForm):
    """Files with pages of a part."""

    pages = MultipleFileField("PDF, or photos of the part")


class MarkedNoteForm(FlaskForm):
    """A note on a page: a place of the part, or what it is and in which bar."""

    file = HiddenField()
    page = HiddenField()
    reference = ChoiceField("Note of the part", validate_choice=False)
    notes = NoteField("Note", [AtMost(NOTES_CHARACTERS)])
    bar = StringField("Bar", [AtMost(LABEL_CHARACTERS)])
    x_mm = NumberField("From the left, in mm")
    y_mm = NumberField("From the top, in mm")
    form = ChoiceField(
        "Shown as", choices=[SelectChoice("", "a drawing where there is room"), *FORMS]
    )


class ChangedMarkForm(MarkedNoteForm):
    """A mark that is changed."""

    form = ChoiceField("Shown as", choices=FORMS)
