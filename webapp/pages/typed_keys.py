"""Fingerings typed as text, on the log page: read when it is sent, or while it is typed.

The form has the keys twice: one field a key, and the text. What the text said when the page was
made (`keys_text_was`) tells which of the two the player changed; if it is both, nothing is guessed.
"""

from dataclasses import dataclass

from flask import jsonify, request
from werkzeug.wrappers import Response

from analysis.keywork import (
    KeyStates,
    Layout,
    UnreadableFingering,
    format_fingering,
    parse_fingering,
    spell_out,
)
from webapp.drawing.fingering_entry import read_states, state_letters
from webapp.forms.entries import FingeringForm
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.targets.bases import open_base
from webapp.presenting.hands import describe_ease, describe_way
from webapp.presenting.text_direction import isolate_quotes_plain
from webapp.presenting.words import current_notebook


@dataclass(frozen=True, slots=True)
class KeysProblem:
    """Why the text was not taken, and where: `position` counts characters from 0."""

    message: str
    text: str = ""
    position: int | None = None

    @property
    def pointer(self) -> str:
        """The text with a caret below the character that is meant, in two lines."""
        if self.position is None:
            return ""
        shown = "".join(each if each.isprintable() else " " for each in self.text)
        return f"{shown}\n{' ' * self.position}^"


def read_typed(text: str, layout: Layout) -> KeyStates | KeysProblem:
    """Read a typed fingering, or say what is wrong with it."""
    try:
        return parse_fingering(text, layout)
    except UnreadableFingering as error:
        return KeysProblem(str(error), error.text, error.position)


def read_keys(form: FingeringForm, layout: Layout) -> tuple[KeyStates, KeysProblem | None]:
    """Return the keys that a sent form means, and what is wrong with its text, if anything."""
    posted = read_states(layout, request.form)
    typed, was = ((each.data or "").strip() for each in (form.keys_text, form.keys_text_was))
    is_asked = request.form.get("action") == "read-keys"
    if not is_asked and typed == was:
        return posted, None
    read = read_typed(typed, layout)
    if isinstance(read, KeysProblem):
        return posted, read
    if not is_asked and read != posted and read_typed(was, layout) != posted:
        return posted, KeysProblem(
            "The text and the list of keys were both changed, and they say different things. "
            "Press “Read it” to take the text, or put the text back as it was."
        )
    return read, None


def read_linked_keys(
    form: FingeringForm, layout: Layout, keys: KeyStates
) -> tuple[KeyStates, KeysProblem | None]:
    """Return the keys that a link to the page gave as text; without any, or if wrong, `keys`."""
    text = (form.keys_text.data or "").strip()
    read = read_typed(text, layout) if text else keys
    return (keys, read) if isinstance(read, KeysProblem) else (read, None)


def read(instrument_id: int) -> Response:
    """Read a typed fingering for the script of the log page, and say how it lies."""
    instrument = open_instrument(current_notebook(), instrument_id)
    found = read_typed(request.args.get("text", ""), instrument.layout)
    if isinstance(found, KeysProblem):
        return jsonify(problem=isolate_quotes_plain(found.message), pointer=found.pointer)
    try:
        base = open_base(current_notebook(), instrument, request.args.get("base", ""))
    except FieldRefused:
        base = None
    ease = describe_ease(found)
    return jsonify(
        text=format_fingering(found),
        letters=state_letters(found),
        spoken=spell_out(found),
        ease=f"{ease.grade}; {ease.terms}" if ease.terms else ease.grade,
        is_awkward=ease.is_awkward,
        way=describe_way(base.keys, found) if base else "",
    )
