"""Reader of what stands between notes: attributes, directions and barlines, as plain events.

Each event is (kind, value, staff); kinds and values are those of `EVENT_KINDS`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from analysis.notation.numbers import read_decimal, read_integer
from analysis.notation.reading_marks import read_dynamics
from analysis.notation.xml_items import Item

Event = tuple[str, str, int]
# Note values in quarters: MusicXML 4.0, note-type-value.
NOTE_VALUES = {
    "1024th": Fraction(1, 256),
    "512th": Fraction(1, 128),
    "256th": Fraction(1, 64),
    "128th": Fraction(1, 32),
    "64th": Fraction(1, 16),
    "32nd": Fraction(1, 8),
    "16th": Fraction(1, 4),
    "eighth": Fraction(1, 2),
    "quarter": Fraction(1),
    "half": Fraction(2),
    "whole": Fraction(4),
    "breve": Fraction(8),
    "long": Fraction(16),
    "maxima": Fraction(32),
}
TEMPO_BOUNDS = (Fraction(1), Fraction(1000))
NOT_GIVEN = "-"
_FIGURE = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,4})?", re.ASCII)
_JUMPS = ("segno", "coda", "dacapo", "dalsegno", "tocoda")


def read_attributes(item: Item) -> list[Event]:
    """Return transpositions, clefs and keys."""
    events: list[Event] = []
    for child in item.children:
        staff = read_integer(child.attributes.get("number", "")) or 0
        if child.tag == "transpose":
            events.append(("transpose", _read_transposition(child), staff))
        elif child.tag == "for-part":
            part = child.first("part-transpose")
            if part is not None:
                events.append(("for-part", _read_transposition(part), staff))
        elif child.tag == "clef":
            events.append(("clef", child.text_of("sign") + child.text_of("line"), staff))
        elif child.tag == "key":
            events += _read_key(child, staff)
    return events


def _read_transposition(item: Item) -> str:
    """Return 'diatonic chromatic octaves'; a chromatic step may be a fraction."""
    diatonic = read_integer(item.text_of("diatonic"))
    chromatic = read_decimal(item.text_of("chromatic"))
    octaves = read_integer(item.text_of("octave-change"))
    return " ".join(
        NOT_GIVEN if each is None else str(each) for each in (diatonic, chromatic, octaves)
    )


def _read_key(item: Item, staff: int) -> Iterator[Event]:
    fifths = read_integer(item.text_of("fifths"))
    if fifths is not None:
        yield ("key", str(max(-7, min(7, fifths))), staff)
        return
    step = ""
    yield ("key", "0", staff)
    for child in item.children:
        if child.tag == "key-step":
            step = child.text.strip()[:1]
        elif child.tag == "key-alter" and step:
            alter = read_decimal(child.text.strip())
            if alter is not None:
                yield ("key-alter", f"{step} {alter}", staff)


def read_direction(item: Item) -> list[Event]:
    """Return words, dynamics, tempos and jumps of a direction, or of a bare `sound`."""
    staff = read_integer(item.text_of("staff")) or 0
    events: list[Event] = []
    metronome: Fraction | None = None
    for kind in item.all("direction-type"):
        for child in kind.children:
            text = " ".join(child.text.split())
            if child.tag in ("words", "other-direction", "rehearsal") and text:
                if child.tag != "rehearsal":
                    events.append(("words", text, staff))
            elif child.tag == "dynamics":
                events += [(name, value, staff) for name, value, _ in read_dynamics(child)]
            elif child.tag == "wedge":
                events.append(("wedge", child.attributes.get("type", ""), staff))
            elif child.tag == "metronome":
                metronome = _read_metronome(child)
    sound = item if item.tag == "sound" else item.first("sound")
    events += _read_sound(sound, metronome) if sound is not None else _tell_tempo(metronome)
    return events


def _read_sound(sound: Item, metronome: Fraction | None) -> Iterator[Event]:
    tempo = read_decimal(sound.attributes.get("tempo", ""))
    yield from _tell_tempo(tempo or metronome)
    for name in _JUMPS:
        if sound.attributes.get(name, "") not in ("", "no"):
            yield ("jump", name, 0)
    for change in sound.all("instrument-change"):
        name = change.text_of("instrument-sound")
        if name:
            yield ("instrument", name, 0)


def _tell_tempo(quarters: Fraction | None) -> Iterator[Event]:
    low, high = TEMPO_BOUNDS
    if quarters is not None and low <= quarters <= high:
        yield ("tempo", str(quarters), 0)


def _read_metronome(item: Item) -> Fraction | None:
    """Return quarter notes a minute; None for a relation of two note values."""
    units = [each.text.strip() for each in item.all("beat-unit")]
    digits = _FIGURE.search(item.text_of("per-minute"))  # "c. 60", "60-66"
    figure = read_decimal(digits[0]) if digits else None
    if len(units) != 1 or units[0] not in NOTE_VALUES or figure is None:
        return None
    dots = min(4, sum(1 for _ in item.all("beat-unit-dot")))
    return figure * NOTE_VALUES[units[0]] * (2 - Fraction(1, 2**dots))


def read_barline(item: Item) -> list[Event]:
    """Return repeats, endings and signs of a barline."""
    events: list[Event] = []
    for child in item.children:
        if child.tag == "repeat":
            events.append(("repeat", child.attributes.get("direction", ""), 0))
        elif child.tag == "ending":
            kind = child.attributes.get("type", "")
            numbers = child.attributes.get("number", "").strip()
            events.append(("ending", f"{kind} {numbers}".strip(), 0))
        elif child.tag in ("segno", "coda"):
            events.append(("jump", child.tag, 0))
    return events
