"""The README of an exchange archive: how to read it without this program, in plain language."""

from collections.abc import Mapping
from typing import Any

_TEXT = """\
FINGERINGS OF A CLARINETTIST, WITH WHAT WAS MEASURED OF THEM

From: {sender}
On: {instruments}
{counts}

What lies here
  exchange.json   everything in words and numbers, as JSON text in UTF-8
  schema.json     what may stand in exchange.json, field by field (JSON Schema)
  drawings/       a picture of each fingering, as SVG; any browser shows it
  takes/          the recordings, byte for byte as they were made; a file is named by the
                  SHA-256 of its bytes, and its ending says what kind of sound file it is
The archive is an ordinary ZIP file whose entries are not compressed.

How to read a fingering
  In "keys", T is the left thumb hole and R the register key; 1, 2, 3 are the first, second and
  third finger, - is an open hole, (1) a half-covered one, [1] a plate pressed with its small hole
  open. The left hand stands before the first bar, the right hand after it; keys beside the holes
  are named after the next bar, by hand. "keys_in_words" says the same in full, and "pressed" lists
  every key that is not at rest by its id; "keywork" of the instrument describes each key: which
  finger works it, what it opens or closes, and where it is drawn.

How to read a note
  Notes are written for the instrument, not as they sound. D5-50c is the D above the middle of the
  treble staff lowered by 50 cents; a cent is a hundredth of an equal semitone. Octaves are counted
  so that A4 is the A of the tuning fork. "sounding_cents" is the pitch as it sounds, where A4 is
  6900. "transposition_cents" of the instrument leads from written to sounding.

How to read the figures
  "offset_cents" says how far the fingering sounded from its note on this instrument, with this
  player, at the tuning A given; "uncertainty_cents" is one standard deviation of that. They are
  this player's figures. On another instrument, mouthpiece or reed they will differ: measure anew.
  "resistance" goes from 1 (free) to 5 (very high).

Drawings
  The player's own view: what the left hand works lies left. Filled is held, outlined is open,
  half filled is a half-hole, filled round a small hole is a plate held with its small hole open.
"""


def write_readme(document: Mapping[str, Any]) -> str:
    """Write the README of a document."""
    instruments = document["instruments"]
    fingerings = [each for instrument in instruments for each in instrument["fingerings"]]
    takes = [take for each in fingerings for take in each["takes"]]
    heard = sum(take["file"] is not None for take in takes)
    counts = [_count(len(fingerings), "fingering"), _count(heard, "recording")]
    if document["lists"]:
        counts.append(_count(len(document["lists"]), "list"))
    return _TEXT.format(
        sender=_line(document["sender"]["name"]) or "a player who gave no name",
        instruments="; ".join(_describe(each) for each in instruments) or "no instrument",
        counts=", ".join(counts) + ".",
    )


def _describe(instrument: Mapping[str, Any]) -> str:
    setup = [
        f"{name} {_line(instrument[name])}"
        for name in ("mouthpiece", "reed", "barrel")
        if instrument[name]
    ]
    facts = [instrument["kind_words"], f"A = {instrument['tuning_a_hz']:g} Hz", *setup]
    return f"{_line(instrument['name'])} ({', '.join(facts)})"


def _count(number: int, noun: str) -> str:
    return f"1 {noun}" if number == 1 else f"{number} {noun}s"


def _line(text: str) -> str:
    return " ".join(text.split())
