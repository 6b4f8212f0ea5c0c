"""The forms of the finder's pages, as `webapp.forms.entries`: meaning is judged by the services."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from flask_wtf import FlaskForm
from wtforms import (
    BooleanField,
    SelectChoice,
    StringField,
)

from analysis.finder.strategies import Strategy
from analysis.keywork import Layout
from webapp.forms.fields import AtMost, ChoiceField, KeysField, OneOfField
from webapp.forms.notes import NoteField
from webapp.notebook.store.rows import DismissReason

CHANGES = [
    SelectChoice("1", "one key"),
    *(
        SelectChoice(str(count), f"up to {words} keys")
        for count, words in ((2, "two"), (3, "three"), (4, "four"))
    ),
]
COLOURS = [
    SelectChoice("", "as it comes"),
    SelectChoice("below", "like the note below"),
    SelectChoice("above", "like the note above"),
]
GRIDS = [SelectChoice("24", "quarter tones"), SelectChoice("48", "eighth tones")]
REASONS = [SelectChoice(each.value, each.words) for each in DismissReason]


class AddressForm(FlaskForm):
    """What is asked for stands in the address, so nothing is changed and no token is needed."""

    class Meta:
        """Asking changes nothing."""

        csrf = False


class WishesForm(AddressForm):
    """A target, and what a suggestion for it has to respect."""

    q = NoteField("Note", [AtMost(120)])
    changes = ChoiceField("Changes against the base", choices=CHANGES, default="3")
    colour = ChoiceField("Colour", choices=COLOURS, default="")
    before = NoteField("Note before", [AtMost(60)])
    after = NoteField("Note after", [AtMost(60)])
    halves = BooleanField("half-holes too")
    free = KeysField("Keys that must stay free")
    down = KeysField("Keys that must be held")

    def offer_keys(self, layout: Layout) -> None:
        """List the keys of an instrument."""
        for field in (self.free, self.down):
            field.choices = [SelectChoice(key.id, key.name) for key in layout.keys]


class PlanForm(AddressForm):
    """The grid and the range of a plan."""

    grid = ChoiceField("Steps", choices=GRIDS, default="24")
    low = NoteField("From", [AtMost(60)])
    high = NoteField("Up to", [AtMost(60)])


class TrillForm(AddressForm):
    """The two notes of a trill or tremolo, in either order."""

    q = NoteField("Note", [AtMost(120)])
    to = NoteField("Other note", [AtMost(120)])


class ColoursForm(AddressForm):
    """A note for which other colours are looked for."""

    q = NoteField("Note", [AtMost(120)])


class SuggestionForm(FlaskForm):
    """A suggestion sent back, with what the player does with it."""

    target = StringField("Target", [AtMost(40)])
    keys = StringField("Keys", [AtMost(400)])
    base = StringField("Base", [AtMost(80)])
    strategy = ChoiceField("Strategy", choices=[SelectChoice(each.value) for each in Strategy])


class DismissForm(FlaskForm):
    """Why a suggestion is not wanted."""

    reason = OneOfField("Why", choices=REASONS, default=DismissReason.OTHER.value)
    reason_notes = StringField("In your words", [AtMost(2000)])

    @property
    def chosen(self) -> DismissReason:
        """The reason of a form that is in order."""
        return DismissReason(self.reason.data)
