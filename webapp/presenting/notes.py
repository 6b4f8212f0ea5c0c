"""Notes as pages show them: letter, sign and octave, with the full words as accessible name.

On screen a note has one spelling, that of the player's system of signs and note names; addresses,
tables and commands have the canonical text (`webapp.presenting.words`).
"""

from flask import Flask
from markupsafe import Markup

from analysis.errors import AnalysisError
from analysis.pitch import (
    AccidentalSign,
    NoteNames,
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
from webapp.presenting.words import current_writing

# The usual name of each quarter tone: its letter, and cents from the natural.
QUARTER_TONES_FROM_C = (
    ("C", 0), ("C", 50), ("C", 100), ("D", -50), ("D", 0), ("D", 50), ("E", -100), ("E", -50),
    ("E", 0), ("E", 50), ("F", 0), ("F", 50), ("F", 100), ("G", -50), ("G", 0), ("G", 50),
    ("G", 100), ("A", -50), ("A", 0), ("A", 50), ("B", -100), ("B", -50), ("B", 0), ("B", 50),
)  # fmt: skip

_NOTE = Markup(
    '<span class="note-name"><span aria-hidden="true">{}</span>'
    '<span class="visually-hidden">{}</span></span>'
)
_SIGN = Markup('<span class="sign">{}</span>')
_FIGURE = Markup('<span class="note-cents">{}</span>')


def register(app: Flask) -> None:
    """Give the templates their notes."""
    app.jinja_env.filters.update(pitch=show_note, typed_note=show_typed)
    app.jinja_env.globals.update(sign_glyphs=show_sign, tell_reading=tell_reading)
    app.jinja_env.globals.update(quarter_tone_names=name_quarter_tones)


def show_note(written: WrittenPitch) -> Markup:
    """Write a note by its sign in the player's system, and in words for a screen reader."""
    writing = current_writing()
    read = written.to_be_read()
    sign = write_accidental(read, writing.accidentals)
    words = format_pitch(read, names=writing.names, style="words")
    shown = _show_name(read, sign, writing.names) + str(written.octave)
    if sign.figure:
        shown += _FIGURE.format(sign.figure)
    return _NOTE.format(shown, words)


def name_quarter_tones() -> list[tuple[str, str]]:
    """Return name and sign of every quarter tone from C upwards, as js/sound/written-names.js."""
    writing = current_writing()
    found = []
    for letter, cents in QUARTER_TONES_FROM_C:
        read = WrittenPitch.from_canonical(f"{letter}4{cents:+d}c" if cents else f"{letter}4")
        sign = write_accidental(read, writing.accidentals)
        is_named = writing.names is NoteNames.GERMAN and sign.sign in ORDINARY
        name = name_letter(
            read.letter, writing.names, int(sign.sign_cents) // 100 if is_named else 0
        )
        is_shown = sign.is_shown and not is_named
        found.append((name, _characters(sign.sign) if is_shown else ""))
    return found


def show_typed(text: str) -> Markup:
    """Show a text that may be a note by its sign; anything else as it is."""
    writing = current_writing()
    try:
        read = parse_pitch(text, names=writing.names, system=writing.accidentals)
    except AnalysisError:
        return Markup.escape(text)
    return show_note(read) if isinstance(read, WrittenPitch) else Markup.escape(text)


def tell_reading(text: str, written: WrittenPitch) -> str:
    """Say how a typed note was read; empty where it stands there in so many words."""
    names = current_writing().names
    words = format_pitch(written.to_be_read(), names=names)
    same = (words, format_pitch(written, names=names, style="short"), written.canonical)
    if not text.strip() or _bare(text) in {_bare(each) for each in same}:
        return ""
    return f"“{text.strip()}” is read as {words}. {explain_fraction(text)}".strip()


def _bare(text: str) -> str:
    return fold_phrase(text).replace(" ", "")


def show_sign(sign: Sign) -> Markup:
    """Write a sign alone; its words stand beside it."""
    return Markup('<span class="note-name" aria-hidden="true">{}</span>').format(_glyphs(sign))


def _show_name(written: WrittenPitch, sign: AccidentalSign, names: NoteNames) -> Markup:
    """Letter and sign; where the language has a name for both, such as Fis, the name."""
    if names is NoteNames.GERMAN and sign.sign in ORDINARY:
        return Markup.escape(name_letter(written.letter, names, int(sign.sign_cents) // 100))
    letter = Markup.escape(name_letter(written.letter, names))
    return letter + _glyphs(sign.sign) if sign.is_shown else letter


def _glyphs(sign: Sign) -> Markup:
    return _SIGN.format(_characters(sign))


def _characters(sign: Sign) -> str:
    return "".join(chr(codepoint) for codepoint in sign.codepoints)
