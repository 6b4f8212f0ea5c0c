"""Labels on the keys: digits and letters as they are, note names in the player's language.

The names of notes are common practice: German writes H for B and B for B flat, and Fis, Es, As for
altered notes; Romance languages sing do, re, mi.
"""

from __future__ import annotations

from analysis.keywork import Key
from analysis.pitch import NoteNames

_SHARP, _FLAT = "♯", "♭"
_GERMAN_FLATS = {"E": "Es", "A": "As", "B": "B"}
_ROMANCE = {"C": "do", "D": "ré", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si"}


def key_label(key: Key, names: NoteNames) -> str:
    """Find what to print on a key in the player's language."""
    return note_label(key.label, names) if key.is_label_note else key.label


def note_label(note: str, names: NoteNames) -> str:
    """Put a plain English note name such as 'F#' or 'Eb' into the player's language.

    >>> [note_label("Eb", names) for names in NoteNames]
    ['E♭', 'Es', 'mi♭']
    """
    letter, sign = note[0], note[1:]
    if names is NoteNames.GERMAN:
        return _german(letter, sign)
    name = _ROMANCE[letter] if names is NoteNames.ROMANCE else letter
    return name + sign.replace("#", _SHARP).replace("b", _FLAT)


def _german(letter: str, sign: str) -> str:
    if sign == "b":
        return _GERMAN_FLATS.get(letter, f"{letter}es")
    return ("H" if letter == "B" else letter) + ("is" if sign == "#" else "")
