"""Strategies by which a player derives a fingering for a note that no ordinary fingering gives.

A quarter tone is 50 cents. The *lower neighbour* is a note less than 75 cents below the target,
the *upper neighbour* one less than 75 cents above it; further off, the distance is counted in
quarter tones.
Source: common practice, from memory.
"""

from enum import StrEnum

from analysis.pitch import WrittenPitch

QUARTER_TONE_CENTS = 50
NEIGHBOUR_REACH_CENTS = 75
TWO_QUARTER_TONES_REACH_CENTS = 125
THREE_QUARTER_TONES_REACH_CENTS = 175


class Strategy(StrEnum):
    """How a fingering was derived."""

    RAISED = "raised"
    LOWERED = "lowered"
    TWO_QUARTER_TONES = "two-quarter-tones"
    THREE_QUARTER_TONES = "three-quarter-tones"
    COMBINATION = "combination"
    FOUND = "found"

    @property
    def words(self) -> str:
        """The strategy as a player would say it."""
        return _WORDS[self]


_WORDS = {
    Strategy.RAISED: "raised from the lower neighbour",
    Strategy.LOWERED: "lowered from the upper neighbour",
    Strategy.TWO_QUARTER_TONES: "from two quarter tones away",
    Strategy.THREE_QUARTER_TONES: "from three quarter tones away",
    Strategy.COMBINATION: "several changes",
    Strategy.FOUND: "found by trying",
}


def recognise_strategy(base: WrittenPitch, target: WrittenPitch) -> Strategy | None:
    """Name the strategy that leads from `base` to `target`, judged by their distance alone.

    Args:
        base: written pitch of the fingering that was changed.
        target: written pitch that is wanted.

    Returns:
        The strategy, or None where the base is the target itself or lies further away.

    >>> base, target = map(WrittenPitch.from_canonical, ("F#5", "G5-50c"))
    >>> recognise_strategy(base, target)
    <Strategy.RAISED: 'raised'>
    """
    distance_cents = float(target.cents - base.cents)
    if distance_cents == 0:
        return None
    if abs(distance_cents) < NEIGHBOUR_REACH_CENTS:
        return Strategy.RAISED if distance_cents > 0 else Strategy.LOWERED
    if abs(distance_cents) < TWO_QUARTER_TONES_REACH_CENTS:
        return Strategy.TWO_QUARTER_TONES
    if abs(distance_cents) < THREE_QUARTER_TONES_REACH_CENTS:
        return Strategy.THREE_QUARTER_TONES
    return None
