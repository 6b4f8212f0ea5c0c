"""Motion from one fingering to another: a cost model of which fingers move, and how.

The cost is a sum, from memory of common practice and not measured: it puts moves in the order in
which a player would.

=========  ====  ===========================================================================
part       cost  for each
=========  ====  ===========================================================================
finger     1.0   finger that does something
slide      1.0   finger that goes from one key straight to one that lies together with it
jump       2.0   finger that goes from one key straight to one that does not
shift      0.75  finger that leaves its hole for a key or comes back, and right thumb that begins
                 to work a key while it carries the instrument
contrary   0.5   finger that lifts while another presses
shading    1.0   hole that is to be shaded and was not (a plate that is vented costs no more than
                 its finger)
=========  ====  ===========================================================================
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from analysis.keywork.errors import DifferentLayouts
from analysis.keywork.hands import assign_fingers
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Acts, Digit, Key, State
from analysis.keywork.layout import Layout
from analysis.keywork.right_thumb import RIGHT_THUMB

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Count = TypeVar("Count", float, "NDArray[np.float64]")
Hold = tuple[tuple[Key, State], ...]
"""Keys that one finger holds, each with how far down, in layout order."""

# The table of the module's head; the tests compare the two.
COSTS: Mapping[str, float] = {
    "finger": 1.0,
    "slide": 1.0,
    "jump": 2.0,
    "shift": 0.75,
    "contrary": 0.5,
    "shading": 1.0,
}
# Fingerings whose fingers are kept: a passage asks for the same few many times.
_HANDS_KEPT = 4_096


class SlideKind(StrEnum):
    """How a finger gets from one key to another."""

    SLIDE = "slide"
    JUMP = "jump"
    SHIFT = "shift"


@dataclass(frozen=True, slots=True)
class Slide:
    """One finger that changes keys; `before` is None if it carried the instrument only."""

    kind: SlideKind
    digit: Digit
    before: Key | None
    after: Key

    @property
    def words(self) -> str:
        """The move in words, such as 'right little finger slides from right E key to ...'."""
        if self.before is None:
            return f"{self.digit.name} shifts to {self.after.name}"
        return f"{self.digit.name} {self.kind}s from {self.before.name} to {self.after.name}"


@dataclass(frozen=True, slots=True)
class FingerMove:
    """One finger that does something: the keys it lets go, those it takes, those it keeps.

    A key that is kept may be shaded or vented on the way.
    """

    digit: Digit
    left: tuple[Key, ...]
    taken: tuple[Key, ...]
    kept: tuple[Key, ...]

    @property
    def lifts(self) -> bool:
        """Whether it lets keys go and takes none."""
        return bool(self.left) and not self.taken

    @property
    def presses(self) -> bool:
        """Whether it takes keys and lets none go."""
        return bool(self.taken) and not self.left


@dataclass(frozen=True, slots=True)
class FingerMotion:
    """What the hands do between two fingerings.

    `contrary` is how many fingers lift while as many others press. `cost` is the sum of the
    module's table; 0 if nothing moves.
    """

    moves: tuple[FingerMove, ...]
    slides: tuple[Slide, ...]
    contrary: int
    cost: float

    @property
    def fingers(self) -> tuple[Digit, ...]:
        """The fingers that do something."""
        return tuple(move.digit for move in self.moves)

    @property
    def words(self) -> str:
        """The motion in words, 'nothing moves' where nothing does."""
        return _words(self.moves, self.slides, self.contrary)


def describe_motion(first: KeyStates, second: KeyStates) -> FingerMotion:
    """Describe how the hands get from one fingering to another.

    Each finger's keys before and after are compared (`assign_fingers`); a finger that lets one go
    and takes another slides, jumps or shifts. Returns the motion with its cost, which is the same
    in both directions but for shading and for a right thumb that carries. Raises
    `DifferentLayouts` if the two do not belong to one layout.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> c5 = parse_fingering("T R 123 | 123 | right F", soprano)
    >>> e_flat_5 = parse_fingering("T R 123 | 123 | G#/Eb", soprano)
    >>> describe_motion(c5, e_flat_5).words
    'right little finger jumps from right F key to G sharp/E flat key'
    """
    if first.layout != second.layout:
        raise DifferentLayouts(first.layout.name, second.layout.name)
    moves = tuple(find_moves(first, second))
    slides = tuple(slide for move in moves if (slide := find_slide(first.layout, move)))
    lifting, pressing = sum(move.lifts for move in moves), sum(move.presses for move in moves)
    contrary = min(lifting, pressing)
    shaded = sum(
        after is State.SHADED and before is not State.SHADED
        for before, after in zip(first.states, second.states, strict=True)
    )
    slide_cost = sum(COSTS[slide.kind] for slide in slides)
    cost = find_motion_cost(float(len(moves)), slide_cost, contrary, shaded)
    return FingerMotion(moves, slides, contrary, cost)


def find_motion_cost(
    finger_count: Count, slide_cost: Count, contrary: Count, shaded: Count
) -> Count:
    """Find the cost of a motion by the module's table, or of many: numbers, or arrays (n,).

    Args:
        finger_count: how many fingers do something.
        slide_cost: what their slides, jumps and shifts cost.
        contrary: how many fingers lift while as many others press.
        shaded: how many holes are to be shaded and were not.
    """
    fingers = COSTS["finger"] * finger_count + slide_cost
    return fingers + COSTS["contrary"] * contrary + COSTS["shading"] * shaded


def find_moves(first: KeyStates, second: KeyStates) -> Iterator[FingerMove]:
    """Find which fingers do something between two fingerings of one layout, in layout order."""
    before, after = find_holds(first), find_holds(second)
    for digit in dict.fromkeys((*first.layout.digits, *before, *after)):
        move = find_move(digit, before.get(digit, ()), after.get(digit, ()))
        if move is not None:
            yield move


@lru_cache(maxsize=_HANDS_KEPT)
def find_holds(fingering: KeyStates) -> Mapping[Digit, Hold]:
    """Find what each finger holds, and how far down; only fingers that hold something."""
    held: dict[Digit, Hold] = {}
    for key, digit in assign_fingers(fingering).items():
        held[digit] = (*held.get(digit, ()), (key, fingering.state(key.id)))
    return held


def find_move(digit: Digit, before: Hold, after: Hold) -> FingerMove | None:
    """Find what one finger does from one hold to another; None where it does nothing."""
    held, holds = [key for key, _ in before], [key for key, _ in after]
    left = tuple(key for key in held if key not in holds)
    taken = tuple(key for key in holds if key not in held)
    kept = tuple(key for key in holds if key in held)
    if left or taken or dict(before) != dict(after):
        return FingerMove(digit, left, taken, kept)
    return None


def find_slide(layout: Layout, move: FingerMove) -> Slide | None:
    """Find how a finger gets from one key to another; None where it does not."""
    if not move.left:
        carries = move.digit == RIGHT_THUMB and layout.right_thumb.carries
        if move.taken and not move.kept and carries:
            return Slide(SlideKind.SHIFT, move.digit, None, move.taken[0])
        return None
    if not move.taken:
        return None
    before, after = move.left[0], move.taken[0]
    if Acts.HOLE in {before.acts, after.acts}:
        kind = SlideKind.SHIFT
    elif layout.is_pair(before, after):
        kind = SlideKind.SLIDE
    else:
        kind = SlideKind.JUMP
    return Slide(kind, move.digit, before, after)


def _words(moves: tuple[FingerMove, ...], slides: tuple[Slide, ...], contrary: int) -> str:
    sliding = {slide.digit for slide in slides}
    plain = [move for move in moves if move.digit not in sliding]
    parts = [
        *_listed("lifts", [m.digit for m in plain if m.lifts]),
        *_listed("presses", [m.digit for m in plain if m.taken]),
        *_listed("rolls", [m.digit for m in plain if not m.left and not m.taken]),
        *(slide.words for slide in slides),
    ]
    if contrary:
        parts.append(f"contrary motion ({contrary} {'finger' if contrary == 1 else 'fingers'})")
    return "; ".join(parts) or "nothing moves"


def _listed(verb: str, digits: list[Digit]) -> Iterator[str]:
    if digits:
        yield f"{verb}: {', '.join(digit.name for digit in digits)}"
