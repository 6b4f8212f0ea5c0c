"""Pairs of a trill in words for the pages: the motion, and what may be heard in between."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.keywork import describe_motion
from analysis.pitch import Sentence, WrittenPitch

if TYPE_CHECKING:
    from analysis.planning import RankedPair

# What is heard in between passes too quickly to be named closer than by its semitone.
_NEAREST_CENTS = 100
# From so many decibels on a colour is called by the word; judgement.
_COLOUR_GRADES = ((8.0, "very different"), (4.0, "different"), (0.0, "a little different"))


@dataclass(frozen=True, slots=True)
class PairWords:
    """How many fingers do it, what they do, and what may be heard in between."""

    fingers: str
    motion: str
    between: Sentence


def describe_pair(pair: RankedPair) -> PairWords:
    """Say what the hands do in a trill, and what may be heard in between."""
    count = pair.cost.finger_count
    fingers = "One finger" if count == 1 else f"{count} fingers"
    motion = describe_motion(pair.lower.fingering, pair.upper.fingering).words
    return PairWords(fingers, motion, _say_between(pair))


def describe_colour(colour_db: float) -> str:
    """Say how different a colour should be, from its distance in dB.

    >>> describe_colour(9.0), describe_colour(1.5)
    ('very different', 'a little different')
    """
    return next(words for least, words in _COLOUR_GRADES if colour_db >= least)


def _say_between(pair: RankedPair) -> Sentence:
    blips = [way.blip_cents for way in (pair.cost.there, pair.cost.back)]
    heard = next((cents for cents in blips if cents is not None), None)
    if heard is None:
        return Sentence()
    nearest = WrittenPitch.from_cents(round(heard / _NEAREST_CENTS) * _NEAREST_CENTS)
    return Sentence("Unless the fingers move together, something near ", nearest, " is heard too.")
