"""What sounds is named in the page as the server names written pitches."""

from __future__ import annotations

import json
import math

import pytest
from flask import Flask

from analysis.pitch import (
    KINDS,
    NoteNames,
    SoundingPitch,
    Tuning,
    WrittenPitch,
    format_cents,
    format_pitch,
)
from tests.javascript.node import Node
from tests.thinning import each_daily
from webapp.notebook.preferences.preferences import Writing
from webapp.presenting.notes import describe_heard_names
from webapp.presenting.words import write_as

CENT_WORDS = {
    NoteNames.ENGLISH: ("cent", "cents"),
    NoteNames.GERMAN: ("Cent", "Cent"),
    NoteNames.ROMANCE: ("cent", "cents"),
}


def names_of(names: NoteNames) -> object:
    """The names of the quarter tones that the server gives a page."""
    with Flask(__name__).test_request_context():
        write_as(Writing(names))
        return json.loads(describe_heard_names())


def _expect_name(written_cents: float, names: NoteNames) -> str:
    """The nearest quarter tone in the server's words, and the rest in whole cents."""
    quarter = 50 * math.floor(written_cents / 50 + 0.5)
    pitch = format_pitch(WrittenPitch.from_cents(quarter), names=names)
    rest = format_cents(written_cents - quarter, decimals=0)
    if rest == "0":
        return pitch
    joint = ", " if "," in pitch else " "
    unit = CENT_WORDS[names][0 if rest[1:] == "1" else 1]
    return f"{pitch}{joint}{rest} {unit}"


@pytest.mark.parametrize(
    ("names", "kind_id", "tuning_hz"), each_daily(list(NoteNames), list(KINDS), [440.0, 442.5])
)
def test_every_pitch_of_every_kind_is_named_as_on_the_server(
    node: Node, names: NoteNames, kind_id: str, tuning_hz: float
) -> None:
    kind = KINDS[kind_id]
    options = {
        "transpositionCents": kind.transposition.cents,
        "tuningAHz": tuning_hz,
        "names": names_of(names),
    }
    # Every 7.3 cents from a whole tone under the lowest note to an octave over the ordinary top,
    # which meets no tie between two names or two numbers.
    low, high = float(kind.lowest.cents) - 200, float(kind.ordinary_top.cents) + 1200
    written = [low + 0.31 + 7.3 * step for step in range(int((high - low) / 7.3))]
    sounding = [SoundingPitch(cents + kind.transposition.cents) for cents in written]

    shown = node.job(
        "small-modules.js", "nameAll", options, [pitch.hz(Tuning(tuning_hz)) for pitch in sounding]
    )

    assert shown == [_expect_name(cents, names) for cents in written]


def test_the_words_are_those_that_players_read(node: Node) -> None:
    def show(hz: float, names: str, cents: int = -200) -> str:
        told = names_of(NoteNames(names))
        options = {"transpositionCents": cents, "tuningAHz": 440.0, "names": told}
        return str(node.job("small-modules.js", "nameAll", options, [hz])[0])

    # A B-flat soprano sounds a whole tone lower than written (common practice, from memory).
    assert show(440.0, "english") == "B4"
    assert show(440.0, "german") == "H4"
    assert show(440.0 * 2 ** (-1 / 12), "german") == "B4"
    flat = 440.0 * 2 ** (-162 / 1200)
    assert show(flat, "english") == "A quarter-sharp 4 −12 cents"
    assert show(flat, "romance") == "la4, quart de ton plus haut, −12 cents"
    # Bass clef parts are written an octave lower than treble ones for the same sound.
    assert show(110.0, "english", -1400) == "B3"
    assert show(110.0, "english", -200) == "B2"
