"""Values of MEI: accidentals, durations, keys and the text of an element.

Written accidentals are MEI 5 data.ACCIDENTAL.WRITTEN, gestural ones data.ACCIDENTAL.GESTURAL; both
are given by the names of MusicXML, so that the rest of the way is one. A sign is what is printed;
the gestural value counts only where there is no sign.
"""

from __future__ import annotations

import re
from fractions import Fraction

from analysis.notation.numbers import read_decimal, read_integer
from analysis.notation.xml_items import TEXT_CHARACTERS, Item

SIGNS = {
    "s": "sharp", "f": "flat", "n": "natural", "ss": "sharp-sharp", "x": "double-sharp",
    "ff": "flat-flat", "tf": "triple-flat", "ts": "triple-sharp", "xs": "triple-sharp",
    "sx": "triple-sharp", "nf": "natural-flat", "ns": "natural-sharp", "su": "sharp-up",
    "sd": "sharp-down", "fu": "flat-up", "fd": "flat-down", "nu": "natural-up",
    "nd": "natural-down", "1qf": "quarter-flat", "3qf": "three-quarters-flat",
    "1qs": "quarter-sharp", "3qs": "three-quarters-sharp", "sori": "sori", "koron": "koron",
}  # fmt: skip
# in semitones, of signs whose size is plain or stated
ALTERS = {
    "s": "1", "f": "-1", "n": "0", "ss": "2", "x": "2", "ff": "-2", "tf": "-3", "ts": "3",
    "xs": "3", "sx": "3", "nf": "-1", "ns": "1", "1qf": "-0.5", "3qf": "-1.5", "1qs": "0.5",
    "3qs": "1.5", "sori": "0.5", "koron": "-0.5",
}  # fmt: skip
GESTURAL = ALTERS | {
    "su": "1.5",
    "sd": "0.5",
    "fu": "-0.5",
    "fd": "-1.5",
    "nu": "0.5",
    "nd": "-0.5",
}
_FIFTHS = "FCGDAEB"
_KEY = re.compile(r"([0-7])([sf])", re.ASCII)
_LONGS = {"breve": Fraction(8), "long": Fraction(16), "maxima": Fraction(32)}
_MOST_DOTS = 4
_SIGN_CHARACTERS = 100


def read_key(text: str) -> int:
    """Return the fifths of a key: '2f' is -2; 0 for what is no such key.

    >>> read_key("3s"), read_key("1f"), read_key("0"), read_key("mixed")
    (3, -1, 0, 0)
    """
    found = _KEY.fullmatch(text)
    return int(found[1]) * (1 if found[2] == "s" else -1) if found else 0


def key_alters(fifths: int) -> dict[str, str]:
    """Return what a key alters, in semitones by step.

    >>> key_alters(-1), key_alters(2)
    ({'B': '-1'}, {'F': '1', 'C': '1'})
    """
    steps = _FIFTHS[:fifths] if fifths >= 0 else _FIFTHS[fifths:]
    return dict.fromkeys(steps, "1" if fifths > 0 else "-1")


def read_length(item: Item, inherited: Fraction | None) -> Fraction | None:
    """Return the length of a note or chord in quarter notes, without its tuplet."""
    name = item.attributes.get("dur", "")
    figure = read_integer(name)
    if name in _LONGS:
        length = _LONGS[name]
    elif figure is not None and 1 <= figure <= 2048:
        length = Fraction(4, figure)
    else:
        return inherited
    dots = read_integer(item.attributes.get("dots", "")) or sum(1 for _ in item.all("dot"))
    return length * (2 - Fraction(1, 2 ** max(0, min(dots, _MOST_DOTS))))


def read_accidental(note: Item) -> tuple[str, str]:
    """Return the written and the gestural accidental of a note, '' where there is none."""
    child = note.first("accid")
    of_child = child.attributes if child else {}
    written = note.attributes.get("accid", "") or of_child.get("accid", "")
    gestural = note.attributes.get("accid.ges", "") or of_child.get("accid.ges", "")
    smufl = of_child.get("glyph.name", "")
    return (f"smufl:{smufl}" if smufl else written)[:_SIGN_CHARACTERS], gestural


def read_tempo(item: Item) -> Fraction | None:
    """Return quarter notes a minute of a tempo mark."""
    playback = read_decimal(item.attributes.get("midi.bpm", ""))
    if playback:
        return playback
    figure = read_decimal(item.attributes.get("mm", ""))
    unit = read_integer(item.attributes.get("mm.unit", ""))
    if not figure or not unit or not 1 <= unit <= 128:
        return None
    dots = max(0, min(read_integer(item.attributes.get("mm.dots", "")) or 0, _MOST_DOTS))
    return figure * Fraction(4, unit) * (2 - Fraction(1, 2**dots))


def text_within(item: Item) -> str:
    """Return all text in an element, in one line; of a little markup, in the order of levels."""
    parts = [item.text, *(text_within(child) for child in item.children)]
    return " ".join(" ".join(parts).split())[:TEXT_CHARACTERS]
