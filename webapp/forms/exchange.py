"""The forms of what is handed on to others and of what came from them."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from flask_wtf.file import FileField
from wtforms import BooleanField, HiddenField, StringField, TextAreaField

from webapp.forms.entries import ANY, STRATEGIES
from webapp.forms.fields import AtMost, ChoiceField, CountField
from webapp.forms.finder import AddressForm
from webapp.forms.notes import NoteField
from webapp.notebook.exchange.selecting import (
    MESSAGE_CHARACTERS,
    NAME_CHARACTERS,
    TITLE_CHARACTERS,
)


class SelectionForm(AddressForm):
    """Which fingerings of an instrument; stands in the address."""

    low = NoteField("From", [AtMost(60)])
    high = NoteField("Up to", [AtMost(60)])
    tag = StringField("Tag", [AtMost(60)])
    strategy = ChoiceField("How it was found", choices=[*ANY, *STRATEGIES], default="")
    measured = BooleanField("measured only")
    mine = BooleanField("only those I call mine")
    whole = BooleanField("without half-holes")
    practice = HiddenField()
    piece = HiddenField()


class SendingForm(FlaskForm):
    """Choice of what goes along with a selection."""

    player_name = StringField("Your name", [AtMost(NAME_CHARACTERS)])
    recordings = BooleanField("with the recordings", default=True)
    notes = BooleanField("with my notes and tags", default=True)
    list_title = StringField("Title of the list", [AtMost(TITLE_CHARACTERS)])
    message = TextAreaField("Message", [AtMost(MESSAGE_CHARACTERS)])


class ArchiveForm(FlaskForm):
    """An archive that came from another player."""

    archive = FileField("Archive")


class OntoForm(FlaskForm):
    """On which of my instruments."""

    instrument = CountField("On")
