"""Layout: a clarinet's keywork as one value, with its drawing and ordinary fingerings.

A stored fingering names a layout's id and version. Layouts are equal when all that they say is, so
that a player's own layout never passes for a shipped one of the same id.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property, wraps
from typing import TypeVar

from analysis.keywork.errors import UnknownKey
from analysis.keywork.keys import (
    Caption,
    Digit,
    Guide,
    Hole,
    Key,
    OrdinaryLine,
    State,
    TextPlaces,
)
from analysis.keywork.right_thumb import RIGHT_THUMB, RightThumb
from analysis.pitch import WrittenPitch

ViewBox = tuple[float, float, float, float]
Found = TypeVar("Found")


@dataclass(frozen=True, repr=False)
class Layout:
    """The keywork of one kind of clarinet.

    `keys` and `holes` keep the order of the file; holes run from the top of the tube down.
    `together` holds the pairs of key ids that one finger can hold at once.

    `keys` are those that the instrument has. `complete` is the layout with every key that its
    file declares, `without` says which of those are missing here and `renamed` which have a name
    of the player's own (see `customise`). `right_thumb` is what that thumb does while one plays:
    it decides which fingers press a key (`reach`), not which keys there are.
    """

    id: str
    version: int
    name: str = field(hash=False)
    provenance: str = field(hash=False)
    kinds: tuple[str, ...] = field(hash=False)
    lowest: WrittenPitch = field(hash=False)
    view_box: ViewBox = field(hash=False)
    keys: tuple[Key, ...] = field(hash=False)
    holes: tuple[Hole, ...] = field(hash=False)
    together: frozenset[frozenset[str]] = field(hash=False)
    text: TextPlaces = field(hash=False)
    guides: tuple[Guide, ...] = field(hash=False)
    captions: tuple[Caption, ...] = field(hash=False)
    ordinary: tuple[OrdinaryLine, ...] = field(hash=False)
    right_thumb: RightThumb = RightThumb.FREE
    without: frozenset[str] = frozenset()
    renamed: tuple[tuple[str, str], ...] = ()
    full: Layout | None = field(default=None, hash=False)
    _index: dict[str, int] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        index = {key.id: place for place, key in enumerate(self.keys)}
        object.__setattr__(self, "_index", index)

    @property
    def complete(self) -> Layout:
        """This layout with every key that its file declares, each under its own name."""
        return self.full or self

    @property
    def usual_without(self) -> frozenset[str]:
        """The ids of the keys that are declared but not usual."""
        return frozenset(key.id for key in self.complete.keys if not key.is_usual)

    @property
    def customisation(self) -> str:
        """A stable text that tells customised layouts apart; empty for the usual instrument."""
        is_usual_thumb = self.right_thumb is self.complete.right_thumb
        if self.without == self.usual_without and not self.renamed and is_usual_thumb:
            return ""
        thumb = () if is_usual_thumb else (self.right_thumb,)
        return json.dumps([sorted(self.without), dict(self.renamed), *thumb], ensure_ascii=False)

    def __repr__(self) -> str:
        tag = f", {self.customisation}" if self.customisation else ""
        return f"Layout({self.id!r}, version {self.version}{tag})"

    def index(self, key_id: str) -> int:
        """Find the place of a key in layout order; raises `UnknownKey`."""
        if key_id not in self._index:
            raise UnknownKey(key_id, self.name)
        return self._index[key_id]

    def key(self, key_id: str) -> Key:
        """Find a key by its id; raises `UnknownKey`."""
        return self.keys[self.index(key_id)]

    def has_key(self, key_id: str) -> bool:
        """Tell whether this layout has a key of that id."""
        return key_id in self._index

    def select(self, key_ids: Iterable[str]) -> tuple[Key, ...]:
        """Find several keys, in the order asked for."""
        return tuple(self.key(key_id) for key_id in key_ids)

    @property
    def extras(self) -> tuple[Key, ...]:
        """The keys that follow the second bar of the text form, in layout order."""
        placed = {*self.text.prefix, *self.text.left, *self.text.right}
        return tuple(key for key in self.keys if key.id not in placed)

    @property
    def has_vented_plate(self) -> bool:
        """Tell whether any plate has a small hole that can be left open."""
        return any(State.VENTED in key.states for key in self.keys)

    def reach(self, key: Key) -> tuple[Digit, ...]:
        """Find the fingers that press a key as this instrument is played, the usual one first.

        The right thumb is left out where what it does keeps it from the key; none may be left.
        """
        return self._reach[key.id]

    @cached_property
    def _reach(self) -> dict[str, tuple[Digit, ...]]:
        return {
            key.id: tuple(
                digit
                for digit in key.digits
                if digit != RIGHT_THUMB or self.right_thumb.may_press(key)
            )
            for key in self.keys
        }

    @cached_property
    def digits(self) -> tuple[Digit, ...]:
        """The fingers that have something to do on this layout, in the order of the keys."""
        return tuple(dict.fromkeys(key.digit for key in self.keys))

    def is_pair(self, first: Key, second: Key) -> bool:
        """Tell whether one finger can hold both keys at once."""
        return frozenset((first.id, second.id)) in self.together


def kept_with_layout(find: Callable[[Layout], Found]) -> Callable[[Layout], Found]:
    """Memoise a function of a layout in the layout itself.

    A cache by value would compare all of two layouts at each question where one was read twice.
    """
    name = f"{find.__module__}.{find.__qualname__}"

    @wraps(find)
    def recall(layout: Layout) -> Found:
        kept = vars(layout)
        if name not in kept:
            kept[name] = find(layout)
        found: Found = kept[name]
        return found

    return recall
