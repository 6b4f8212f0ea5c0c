"""The forms of the player's word on a fingering, and of a note's own tolerance."""

from flask_wtf import FlaskForm
from wtforms import HiddenField, SelectChoice, StringField

from webapp.forms.fields import AtMost, ChoiceField, NumberField, OneOfField
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.choices import REASON_CHARACTERS

ROLES = [
    SelectChoice("", "take back"),
    *(SelectChoice(each.value, each.value) for each in Role),
]
CIRCUMSTANCES = [
    SelectChoice("", "always"),
    *(SelectChoice(each.value, each.value) for each in Circumstance),
]


class _ShortForm(FlaskForm):
    """A form whose first problem is told on a page of its own."""

    @property
    def first_problem(self) -> tuple[str, str]:
        """The first field that cannot be kept, and why."""
        name, problems = next(iter(self.errors.items()))
        return name or "", str(next(iter(problems)))


class WordForm(_ShortForm):
    """The player's word on a fingering for a note; no role takes it back."""

    target = HiddenField("Note", [AtMost(120)])
    role = OneOfField("Your word", choices=ROLES)
    circumstance = ChoiceField("When", choices=CIRCUMSTANCES, default="")
    reason = StringField("Why", [AtMost(REASON_CHARACTERS)])


class ToleranceForm(_ShortForm):
    """How far a note may lie off; empty for the player's usual tolerance."""

    target = HiddenField("Note", [AtMost(120)])
    tolerance_cents = NumberField("Cents")
