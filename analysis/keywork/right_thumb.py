"""Duty of the right thumb: whether it carries the instrument, and which keys it presses.

The thumb that carries is bound to its rest. A peg, a strap or a stand can free it. What it reaches
then differs: keys made for it lie under it, and on some instruments it gets at the side keys. The
layout's file says which keys it could press at all, and what it usually does; the player says what
it does on one instrument. (Common practice, from memory.)
"""

from __future__ import annotations

from enum import StrEnum

from analysis.keywork.keys import Digit, Finger, Hand, Key

RIGHT_THUMB = Digit(Hand.RIGHT, Finger.THUMB)


class RightThumb(StrEnum):
    """Duty of the right thumb while the instrument is played.

    Its own keys are those that it usually works; others it can only reach as well.
    """

    CARRIES = "carries"
    SHARES = "shares"
    OWN_KEYS = "own-keys"
    FREE = "free"

    @property
    def carries(self) -> bool:
        """Tell whether it carries the instrument, perhaps while it works keys of its own."""
        return self in {RightThumb.CARRIES, RightThumb.SHARES}

    @property
    def words(self) -> str:
        """The duty in words, the end of a sentence that begins with 'the right thumb'."""
        return _WORDS[self]

    @property
    def reason(self) -> str:
        """Why it doesn't press some key, as the end of such a sentence."""
        return "carries the instrument" if self.carries else "works its own keys only"

    def may_press(self, key: Key) -> bool:
        """Tell whether it presses a key that is made so that it could."""
        if self is RightThumb.FREE:
            return True
        return self is not RightThumb.CARRIES and key.digit == RIGHT_THUMB


_WORDS = {
    RightThumb.CARRIES: "carries the instrument and presses no key",
    RightThumb.SHARES: "carries the instrument and works its own keys too",
    RightThumb.OWN_KEYS: "is free (peg, strap or stand) and works its own keys only",
    RightThumb.FREE: "is free (peg, strap or stand) and works every key it reaches",
}
