"""Ease of a fingering: a cost model of how easily it lies in the hands, with its terms.

The figure runs from 1 (nothing in the way) down to 0 (two hands can't hold it). Each awkward thing
is a term with an effort, and the figure is 1 / (1 + the sum of all efforts): an effort of 1 halves
it. The efforts are judgement, from memory of common practice, not measured: they are meant to put
fingerings in the order in which a player would, and the sizes of the gaps between them mean little.

What counts, for each time it occurs:

==================  ======  =================================================================
term                effort  when
==================  ======  =================================================================
half-hole           1.0     a hole is half covered and can't be set the same way twice (a vented
                            plate can, and counts for nothing)
two keys            0.6     one finger holds two keys of its cluster, ladder or thumb group
hole and key        0.35    a finger other than the thumb holds its hole and a key beside it
carrying thumb      0.5     the right thumb carries the instrument and works a key
unusual finger      0.4     a key is worked by a finger that usually works others
away from its hole  0.15    a finger has left its hole for a throat, side or cross key
gap                 0.2     an open hole between two covered ones of the same hand
dependent finger    0.2     the third finger is down while the second is up
both little         0.15    both little fingers hold keys
==================  ======  =================================================================

The left thumb on its hole and the register key at once is what every clarion note asks for; it
counts for nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from analysis.keywork.hands import assign_fingers, find_clashes
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Acts, Digit, Finger, Hand, Key, State
from analysis.keywork.right_thumb import RIGHT_THUMB

# The table of the module's head; the tests compare the two.
EFFORTS: Mapping[str, float] = {
    "half-hole": 1.0,
    "two keys": 0.6,
    "hole and key": 0.35,
    "carrying thumb": 0.5,
    "unusual finger": 0.4,
    "away from its hole": 0.15,
    "gap": 0.2,
    "dependent finger": 0.2,
    "both little": 0.15,
}
IMPOSSIBLE = "impossible"
# From this figure down a fingering is called awkward, everywhere: judgement, as the figure itself.
AWKWARD_FIGURE = 0.5
_HOLE_FINGERS = frozenset({Finger.FIRST, Finger.SECOND, Finger.THIRD})


@dataclass(frozen=True, slots=True)
class EaseTerm:
    """One awkward thing: its name in the table above, where it occurs, and what it counts."""

    name: str
    where: str
    effort: float


@dataclass(frozen=True, slots=True)
class Ease:
    """How easily a fingering lies: 1 is easiest, 0 can't be played; and why."""

    figure: float
    terms: tuple[EaseTerm, ...]

    @property
    def words(self) -> str:
        """The terms in one line, such as 'gap (left hand), carrying thumb (thumb low C key)'."""
        return ", ".join(f"{term.name} ({term.where})" for term in self.terms) or "nothing awkward"


def assess_ease(fingering: KeyStates) -> Ease:
    """Assess how easily a fingering can be held.

    The fingers are those of `assign_fingers`; each term of the table in this module counts once
    for each place where it occurs. Returns the figure with its terms. A fingering that two hands
    can't hold has the figure 0 and one term 'impossible' for each reason.

    Limits: it judges one fingering standing still; for the way from one to the next see
    `describe_motion`. Small hands and large instruments are not known to it.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> ease = assess_ease(parse_fingering("T R 123 | 1-- | right cross", soprano))
    >>> round(ease.figure, 2), ease.words
    (0.87, 'away from its hole (right cross key)')
    >>> ease = assess_ease(parse_fingering("T R (1)23 | 123 | left F#, right E", soprano))
    >>> round(ease.figure, 2), ease.words
    (0.47, 'half-hole (left first finger), both little (both hands)')
    """
    digit_of = assign_fingers(fingering)
    conflicts = find_clashes(fingering.layout, digit_of)
    if conflicts:
        reasons = tuple(EaseTerm(IMPOSSIBLE, one.reason, float("inf")) for one in conflicts)
        return Ease(0.0, reasons)
    terms = tuple(
        EaseTerm(name, where, EFFORTS[name])
        for name, find in _FINDERS.items()
        for where in find(fingering, digit_of)
    )
    return Ease(1 / (1 + sum(term.effort for term in terms)), terms)


_Finder = Callable[[KeyStates, Mapping[Key, Digit]], Iterator[str]]


def _half_holes(fingering: KeyStates, _: Mapping[Key, Digit]) -> Iterator[str]:
    for key in fingering.half_holes:
        yield key.name


def _held_by_one(digit_of: Mapping[Key, Digit]) -> Iterator[tuple[Digit, Key, Key]]:
    for first, second in combinations(digit_of, 2):
        if digit_of[first] == digit_of[second]:
            yield digit_of[first], first, second


def _two_keys(_: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    for digit, first, second in _held_by_one(digit_of):
        if Acts.HOLE not in {first.acts, second.acts}:
            yield f"{digit.name}: {first.name} and {second.name}"


def _hole_and_key(_: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    for digit, first, second in _held_by_one(digit_of):
        if Acts.HOLE in {first.acts, second.acts} and digit.finger is not Finger.THUMB:
            yield f"{digit.name}: {first.name} and {second.name}"


def _carrying_thumb(fingering: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    for key, digit in digit_of.items():
        if digit == RIGHT_THUMB and fingering.layout.right_thumb.carries:
            yield key.name


def _unusual_finger(_: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    for key, digit in digit_of.items():
        if digit != key.digit:
            yield f"{key.name} with the {digit.name}"


def _away(_: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    on_holes = {digit for key, digit in digit_of.items() if key.acts is Acts.HOLE}
    for key, digit in digit_of.items():
        if digit.finger in _HOLE_FINGERS and digit not in on_holes:
            yield key.name


def _gaps(fingering: KeyStates, _: Mapping[Key, Digit]) -> Iterator[str]:
    for hand, holes in _hands(fingering):
        covered = [place for place, is_covered in enumerate(holes) if is_covered]
        if covered and len(covered) < covered[-1] - covered[0] + 1:
            yield f"{hand} hand"


def _dependent_finger(fingering: KeyStates, _: Mapping[Key, Digit]) -> Iterator[str]:
    layout = fingering.layout
    for ids in (layout.text.left, layout.text.right):
        is_down = {
            key.finger: fingering.state(key.id) is not State.UP for key in layout.select(ids)
        }
        if is_down.get(Finger.THIRD, False) and not is_down.get(Finger.SECOND, True):
            yield f"{layout.key(ids[0]).hand} third finger"


def _both_little(_: KeyStates, digit_of: Mapping[Key, Digit]) -> Iterator[str]:
    hands = {digit.hand for digit in digit_of.values() if digit.finger is Finger.LITTLE}
    if len(hands) == 2:
        yield "both hands"


def _hands(fingering: KeyStates) -> Iterator[tuple[Hand, list[bool]]]:
    places = fingering.layout.text
    for hand, ids in ((Hand.LEFT, places.left), (Hand.RIGHT, places.right)):
        yield hand, [fingering.state(key_id) is not State.UP for key_id in ids]


_FINDERS: Mapping[str, _Finder] = {
    "half-hole": _half_holes,
    "two keys": _two_keys,
    "hole and key": _hole_and_key,
    "carrying thumb": _carrying_thumb,
    "unusual finger": _unusual_finger,
    "away from its hole": _away,
    "gap": _gaps,
    "dependent finger": _dependent_finger,
    "both little": _both_little,
}
