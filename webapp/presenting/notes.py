"""Notes as pages show them: letter, sign and octave, with the full words as accessible name.

On screen a note has one spelling, that of the player's system of signs and note names; addresses,
tables and commands have the canonical text (`webapp.presenting.words`).
"""

import json
import re
from collections.abc import Iterable
from typing import TypedDict

from flask import Flask
from markupsafe import Markup

from analysis.errors import AnalysisError
from analysis.pitch import (
    QUARTER_TONES,
    AccidentalSign,
    NoteNames,
    Sentence,
    Sign,
    WrittenPitch,
    explain_fraction,
    format_pitch,
    name_letter,
    parse_pitch,
    write_accidental,
)
from analysis.pitch.lexicon import fold_phrase
from analysis.pitch.signs import ORDINARY
from analysis.pitch.wording import WORDINGS
from webapp.notebook.store.note_refusals import said_of
from webapp.presenting.text_direction import isolate_quotes
from webapp.presenting.words import current_writing

_NOTE = Markup(
    '<span class="note-name"><span aria-hidden="true">{}</span>'
    '<span class="visually-hidden">{}</span></span>'
)
_PIECE = Markup('<span class="{}">{}</span>')
_SIGN_CLASS, _FIGURE_CLASS = "sign", "note-cents"
_ANY_C = WrittenPitch.from_canonical("C5")


class ShownNote(TypedDict):
    """A note as a script shows it: words, and pieces of text, each with its class or with none."""

    words: str
    shown: list[tuple[str, str]]


def register(app: Flask) -> None:
    """Give the templates their notes."""
    app.jinja_env.filters.update(
        pitch=show_note,
        typed_note=show_typed,
        say=show_sentence,
        refusals=show_refusals,
        pitch_json=note_as_json,
    )
    app.jinja_env.globals.update(
        sign_glyphs=show_sign, tell_reading=tell_reading, heard_names=describe_heard_names
    )


def show_note(written: WrittenPitch) -> Markup:
    """Write a note by its sign in the player's system, and in words for a screen reader."""
    note = describe_note(written)
    pieces = (_PIECE.format(kind, text) if kind else text for kind, text in note["shown"])
    return _NOTE.format(Markup("").join(pieces), note["words"])


def describe_note(written: WrittenPitch) -> ShownNote:
    """Return a note as a page shows it, for a script."""
    writing = current_writing()
    read = written.to_be_read()
    sign = write_accidental(read, writing.accidentals)
    shown = [*_name_pieces(read, sign, writing.names), ("", str(written.octave))]
    if sign.figure:
        shown.append((_FIGURE_CLASS, sign.figure))
    return {"words": format_pitch(read, names=writing.names, style="words"), "shown": shown}


def note_as_json(written: WrittenPitch) -> str:
    """Return the same as text for an attribute."""
    return json.dumps(describe_note(written), ensure_ascii=False)


def show_sentence(sentence: Sentence | str) -> Markup:
    """Write a sentence with its notes by their signs; the player's quoted words are isolated."""
    parts = sentence.parts if isinstance(sentence, Sentence) else (sentence,)
    return Markup("").join(
        isolate_quotes(part) if isinstance(part, str) else show_note(part) for part in parts
    )


def show_refusals(refusals: Iterable[Sentence | str]) -> Markup:
    """Write what is refused of one field, or of a form, one sentence after the other."""
    return Markup(" ").join(map(show_sentence, refusals))


def show_refusal(error: Exception) -> Markup:
    """Write one refusal where no form shows it."""
    return show_sentence(said_of(error))


def describe_sentence(sentence: Sentence) -> list[str | ShownNote]:
    """Return a sentence with its notes, for a script."""
    return [part if isinstance(part, str) else describe_note(part) for part in sentence.parts]


def describe_heard_names() -> str:
    """Return what a script names heard pitches by, as JSON: the 24 quarter tones above C.

    Each has the pieces before and after its octave and the words before and after it, in the
    player's names and signs; `one` and `more` are the words for cents.
    """
    octave = str(_ANY_C.octave)
    steps = []
    for step in range(QUARTER_TONES.steps_per_octave):
        cents = _ANY_C.cents + step * QUARTER_TONES.step_cents
        note = describe_note(WrittenPitch.from_cents(cents))
        before, after = note["words"].split(octave)
        place = note["shown"].index(("", octave))
        shown = note["shown"]
        steps.append({"words": [before, after], "shown": [shown[:place], shown[place + 1 :]]})
    wording = WORDINGS[current_writing().names]
    told = {"steps": steps, "one": wording.cent, "more": wording.cents}
    return json.dumps(told, ensure_ascii=False)


def show_typed(text: str) -> Markup:
    """Show a text that may be a note by its sign; anything else as it is."""
    writing = current_writing()
    try:
        read = parse_pitch(text, names=writing.names, system=writing.accidentals)
    except AnalysisError:
        return Markup.escape(text)
    return show_note(read) if isinstance(read, WrittenPitch) else Markup.escape(text)


def tell_reading(text: str, written: WrittenPitch) -> Sentence:
    """Say how a typed note was read; empty where it stands there in so many words."""
    names = current_writing().names
    words = format_pitch(written.to_be_read(), names=names)
    same = (words, format_pitch(written, names=names, style="short"), written.canonical)
    if not text.strip() or _bare(text) in {_bare(each) for each in same}:
        return Sentence()
    why = explain_fraction(text)
    return Sentence(f"“{text.strip()}” is read as ", written, f". {why}" if why else ".")


def _bare(text: str) -> str:
    folded = fold_phrase(text).replace("♯", "#").replace("♭", "b").replace(" ", "")
    return re.sub(r"(?<=[0-9])c$", "", folded)


def show_sign(sign: Sign) -> Markup:
    """Write a sign alone; its words stand beside it."""
    shown = _PIECE.format(_SIGN_CLASS, _glyphs(sign))
    return Markup('<span class="note-name" aria-hidden="true">{}</span>').format(shown)


def _name_pieces(
    written: WrittenPitch, sign: AccidentalSign, names: NoteNames
) -> list[tuple[str, str]]:
    """Letter and sign; where the language has a name for both, such as Fis, the name."""
    if names is NoteNames.GERMAN and sign.sign in ORDINARY:
        return [("", name_letter(written.letter, names, int(sign.sign_cents) // 100))]
    letter = ("", name_letter(written.letter, names))
    return [letter, (_SIGN_CLASS, _glyphs(sign.sign))] if sign.is_shown else [letter]


def _glyphs(sign: Sign) -> str:
    return "".join(chr(codepoint) for codepoint in sign.codepoints)
