"""Refusals of forms are in our words: what was found, and what to do."""

import re
from collections.abc import Iterator

import pytest
from flask import Flask
from flask_wtf import FlaskForm
from wtforms import FieldList, FormField

from analysis.keywork import load_layout
from webapp.forms import entries as forms
from webapp.forms import finder as finder_forms
from webapp.forms import practice as practice_forms
from webapp.forms.finder import WishesForm

# How the library under the forms begins its own refusals (WTForms 3, read in its source).
LIBRARY_WORDS = re.compile(
    "Not a valid|Field (must|cannot)|This field|Invalid|Number must|Date must|is not a valid choice"
)
ABSURD = ("\u2620 nonsense", "x" * 30_000, "", " ", "nan", "-1", "\0")


def form_classes() -> Iterator[type[FlaskForm]]:
    """Every form that a page can send."""
    for module in (forms, practice_forms, finder_forms):
        for found in vars(module).values():
            is_form = isinstance(found, type) and issubclass(found, FlaskForm)
            if is_form and found.__module__ == module.__name__:
                yield found


def fill_in(app: Flask, kind: type[FlaskForm], text: str | None) -> FlaskForm:
    """A form with one text in every field, judged; None sends nothing at all."""
    with app.test_request_context("/"):
        names = [field.name for field in kind(meta={"csrf": False})]
    sent = {} if text is None else dict.fromkeys(names, text)
    with app.test_request_context("/", method="POST", data={"sent": "yes", **sent}):
        form = kind(meta={"csrf": False})
        if isinstance(form, WishesForm):
            form.offer_keys(load_layout("soprano-17-6"))
        for field in form:
            if getattr(field, "choices", ()) is None:  # a view fills these in
                field.choices = []
        form.validate()
        return form


@pytest.mark.parametrize("kind", list(form_classes()), ids=lambda kind: kind.__name__)
def test_no_form_refuses_in_the_words_of_a_library(app: Flask, kind: type[FlaskForm]) -> None:
    for text in (None, *ABSURD):
        form = fill_in(app, kind, text)
        for field in form:
            assert not isinstance(field, FieldList | FormField), "look at the fields within it"
            for problem in field.errors:
                assert not LIBRARY_WORDS.search(str(problem)), (field.name, text, problem)
                assert str(problem).endswith("."), problem


@pytest.mark.parametrize(
    ("kind", "name", "typed", "words"),
    [
        (forms.TakeForm, "dynamic", "louder", "“louder” is not one of the choices. Choose"),
        (forms.TakeForm, "recorded_at", "31.12.2024", "“31.12.2024” is not a day. Write year"),
        (forms.InstrumentForm, "name", "n" * 131, "This has 131 characters, and there is"),
        (practice_forms.GapsForm, "count", "many", "“many” is not a whole number. Type one such"),
        (practice_forms.TargetStateForm, "state", None, "Nothing is chosen. Choose one."),
        (finder_forms.WishesForm, "free", "pedal", "This instrument has no key “pedal”. Tick"),
        (forms.PreferencesForm, "theme", "p" * 50, f"“{'p' * 30}…” is not one of the choices"),
    ],
)  # fmt: skip
def test_a_refusal_says_what_was_found_and_what_to_do(
    app: Flask, kind: type[FlaskForm], name: str, typed: str | None, words: str
) -> None:
    form = fill_in(app, kind, typed)
    (problem,) = form[name].errors
    assert str(problem).startswith(words)
