"""Parts of a layout: keys with their states and outlines, holes with their linkage.

Conventions. "Key" is everything a finger works: a ring, an open hole, a plate or a touch piece.
Lengths are drawing units, 240 across the whole drawing, y downwards, seen as the player sees it.
Which of these a clarinet has is never written in code: layouts are read from files.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """State of a key under the finger: left, pressed, or its hole covered in part.

    Shaded is a half-hole, which can't be set the same way twice. Vented is a plate that is down
    while the small hole in it stays open: ordinary, and the same each time.
    """

    UP = "up"
    DOWN = "down"
    SHADED = "shaded"
    VENTED = "vented"


class HoleState(StrEnum):
    """Whether air leaves through a hole; vented: through the small hole of its plate alone."""

    OPEN = "open"
    CLOSED = "closed"
    SHADED = "shaded"
    VENTED = "vented"


class Hand(StrEnum):
    """The player's hand."""

    LEFT = "left"
    RIGHT = "right"


class Finger(StrEnum):
    """The trade counts from the index finger; the fourth is called the little finger."""

    THUMB = "thumb"
    FIRST = "first"
    SECOND = "second"
    THIRD = "third"
    LITTLE = "little"


class KeyKind(StrEnum):
    """Kind of place under the finger; a plate that can be vented has a small hole of its own."""

    RING = "ring"
    HOLE = "hole"
    PLATE = "plate"
    KEY = "key"


class Acts(StrEnum):
    """What pressing does: covers the finger's hole, opens a pad (raises) or closes one (lowers)."""

    HOLE = "hole"
    OPENS = "opens"
    CLOSES = "closes"


@dataclass(frozen=True, slots=True)
class Digit:
    """One finger of one hand."""

    hand: Hand
    finger: Finger

    @property
    def name(self) -> str:
        """The finger in words, such as 'left first finger' or 'right thumb'."""
        if self.finger is Finger.THUMB:
            return f"{self.hand} thumb"
        return f"{self.hand} {self.finger} finger"


@dataclass(frozen=True, slots=True)
class Circle:
    """A round outline about (x, y)."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A straight outline with rounded corners, turned clockwise about its middle."""

    x: float
    y: float
    width: float
    height: float
    corner: float
    turn_degrees: float = 0.0


Outline = Circle | Bar


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A touch target."""

    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: Rectangle) -> bool:
        """Tell whether the two share any area; touching edges do not count."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )


@dataclass(frozen=True, slots=True)
class Condition:
    """Condition on other keys (ids): all of the one sort down, all of the other up."""

    while_down: tuple[str, ...]
    while_up: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Key:
    """One thing a finger can press: how it is called, worked, written and drawn.

    `token` is its name in the text form and `aliases` are further names that typing accepts.
    `also` holds fingers other than the usual one that can reach it. `label` is printed on
    the drawing; when `is_label_note` is true it is an English note name to be put into the
    player's language. An optional key is one that not every instrument has; `is_usual` says
    whether an instrument of which nothing else is known is taken to have it.

    Rolling the finger half off its hole is ordinary while any condition of `rolled` holds; without
    one it never is.
    """

    id: str
    name: str
    spoken: str
    token: str
    aliases: tuple[str, ...]
    hand: Hand
    finger: Finger
    also: tuple[Digit, ...]
    kind: KeyKind
    acts: Acts
    states: tuple[State, ...]
    note: str
    group: str
    cluster: bool
    is_behind: bool
    label: str
    is_label_note: bool
    label_at: tuple[float, float] | None
    outline: Outline
    hit: Rectangle
    is_optional: bool = False
    is_usual: bool = True
    rolled: tuple[Condition, ...] = ()

    def __hash__(self) -> int:
        # Equal keys have equal ids; hashing every measure of the drawing took most of the time
        # that judging a hand takes.
        return hash(self.id)

    @property
    def digit(self) -> Digit:
        """The finger that usually works this key."""
        return Digit(self.hand, self.finger)

    @property
    def partial(self) -> State | None:
        """The state in which part of its hole is open, shaded or vented; none for most keys."""
        return next((one for one in (State.SHADED, State.VENTED) if one in self.states), None)

    @property
    def digits(self) -> tuple[Digit, ...]:
        """Every finger that can work this key, the usual one first."""
        return (self.digit, *self.also)


@dataclass(frozen=True, slots=True)
class Mover:
    """A key that moves a pad, perhaps only while other keys are down or up."""

    key_id: str
    while_down: tuple[str, ...] = ()
    while_up: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole of the tube and what moves its pad.

    `stands_open` is its state with nothing pressed. `finger_key_id` is the key that covers
    this hole itself; its shading is the hole's shading. A closer wins over an opener, as in
    an articulated mechanism.
    """

    id: str
    name: str
    stands_open: bool
    finger_key_id: str | None
    closed_by: tuple[Mover, ...]
    opened_by: tuple[Mover, ...]


@dataclass(frozen=True, slots=True)
class Guide:
    """A straight line of the drawing that is no key, such as the joint between the hands."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Caption:
    """Where the name of a hand stands on the largest drawing."""

    hand: Hand
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class TextPlaces:
    """Which keys stand before the first bar of the text form, and which are the hands' holes."""

    prefix: tuple[str, ...]
    left: tuple[str, ...]
    right: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OrdinaryLine:
    """One line of a layout's list of fingerings, as written in its file; to try, or ordinary."""

    note: str
    text: str
    choice: int
    remark: str
    is_to_try: bool = False
