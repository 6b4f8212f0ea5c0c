"""The fields that forms are made of: each refusal says what was found and what to do.

The words that the library under the forms has of its own say neither, so no form uses a field or a
validator of it that can refuse by itself.
"""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

import math
import re
from contextlib import suppress
from datetime import UTC, date, datetime

from wtforms import (
    DateField,
    Form,
    IntegerField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
)
from wtforms import Field as AnyField
from wtforms.validators import ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

_LONGEST_SHOWN = 30
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


def quote(text: object) -> str:
    """Return the beginning of what was found, in quotation marks."""
    found = str(text)
    return f"“{found if len(found) <= _LONGEST_SHOWN else found[:_LONGEST_SHOWN] + '…'}”"


class AtMost:
    """Refuses a text that is longer than there is room for."""

    def __init__(self, characters: int) -> None:
        self.characters = characters
        self.field_flags = {"maxlength": characters}

    def __call__(self, form: Form, field: AnyField) -> None:
        """Count the characters."""
        del form
        found = len(field.data or "")
        if found > self.characters:
            raise ValidationError(
                f"This has {found:,} characters, and there is room for {self.characters:,}. "
                "Shorten it."
            )


class ChoiceField(SelectField):
    """One of a list."""

    def pre_validate(self, form: Form) -> None:
        """Refuse what is not on the list."""
        try:
            super().pre_validate(form)
        except ValidationError as error:
            found = f"{quote(self.data)} is not one of the choices. Choose one of those offered."
            raise ValidationError(
                found if self.raw_data else "Nothing is chosen. Choose one."
            ) from error


class OneOfField(ChoiceField, RadioField):
    """One of a few that are all in sight."""


class KeysField(SelectMultipleField):
    """Any number of keys, one box each."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()

    def pre_validate(self, form: Form) -> None:
        """Refuse keys that are not there."""
        try:
            super().pre_validate(form)
        except ValidationError as error:
            there = {str(each.value) for each in self.iter_choices()}
            strange = ", ".join(quote(each) for each in self.data if each not in there)
            raise ValidationError(
                f"This instrument has no key {strange}. Tick those that it has."
            ) from error


class _TypedField(AnyField):
    """A field whose text may not be what is `wanted`; the text is kept as it was typed."""

    wanted: str

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read the text."""
        try:
            super().process_formdata(valuelist)
        except ValueError as error:
            raise ValidationError(f"{quote(' '.join(valuelist))} is not {self.wanted}") from error


class DayField(_TypedField, DateField):
    """A day; empty means not given."""

    wanted = "a day. Write year, month and day, such as 2025-03-01."


class CountField(_TypedField, IntegerField):
    """A whole number."""

    wanted = "a whole number. Type one such as 10."


class NumberField(StringField):
    """A number typed with a point or a comma; empty means not given."""

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read the number, and keep the text as it is where it is none."""
        super().process_formdata(valuelist)
        self.number: float | None = None
        # Not sent, it is what the row has, which is a number already.
        text = str(self.data or "").strip().replace(",", ".")
        if not text:
            return
        try:
            number = float(text)
        except ValueError as error:
            raise ValidationError(
                f"{quote(text)} is not a number. Type one such as 441 or 20.5."
            ) from error
        if not math.isfinite(number):
            raise ValidationError("Type an ordinary number, such as 441 or 20.5.")
        self.number = number


class MomentField(StringField):
    """A moment as scripts write it (ISO 8601, with its zone), or a day; empty means not given."""

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read the moment; one without a zone could be any of 38 hours, so it is refused."""
        super().process_formdata(valuelist)
        self.moment: datetime | None = None
        self.day: date | None = None
        text = (self.data or "").strip()
        if not text:
            return
        with suppress(ValueError, OverflowError):
            moment = datetime.fromisoformat(text)
            self.moment = moment.astimezone(UTC) if moment.tzinfo else None
            self.day = moment.date() if _DAY.fullmatch(text) else None
        if self.moment is None and self.day is None:
            raise ValidationError(
                f"{quote(text)} is not a moment with its zone, such as 2025-03-01T17:30:00Z."
            )
