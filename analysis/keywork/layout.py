"""A clarinet's keywork as one value: its keys, holes, text places, drawing and ordinary fingerings.

Two layouts are the same when id and version are the same; a stored fingering names both.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from analysis.keywork.errors import UnknownKey
from analysis.keywork.keys import (
    Caption,
    Digit,
    Guide,
    Hole,
    Key,
    OrdinaryLine,
    TextPlaces,
)
from analysis.pitch import WrittenPitch

ViewBox = tuple[float, float, float, float]


@dataclass(frozen=True)
class Layout:
    """The keywork of one kind of clarinet.

    `keys` and `holes` keep the order of the file; holes run from the top of the tube down.
    `together` holds the pairs of key ids that one finger can hold at once.
    """

    id: str
    version: int
    name: str = field(compare=False)
    provenance: str = field(compare=False)
    kinds: tuple[str, ...] = field(compare=False)
    lowest: WrittenPitch = field(compare=False)
    view_box: ViewBox = field(compare=False, repr=False)
    keys: tuple[Key, ...] = field(compare=False, repr=False)
    holes: tuple[Hole, ...] = field(compare=False, repr=False)
    together: frozenset[frozenset[str]] = field(compare=False, repr=False)
    text: TextPlaces = field(compare=False, repr=False)
    guides: tuple[Guide, ...] = field(compare=False, repr=False)
    captions: tuple[Caption, ...] = field(compare=False, repr=False)
    ordinary: tuple[OrdinaryLine, ...] = field(compare=False, repr=False)
    _index: dict[str, int] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        index = {key.id: place for place, key in enumerate(self.keys)}
        object.__setattr__(self, "_index", index)

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
    def digits(self) -> tuple[Digit, ...]:
        """The fingers that have something to do on this layout, in the order of the keys."""
        return tuple(dict.fromkeys(key.digit for key in self.keys))

    def is_pair(self, first: Key, second: Key) -> bool:
        """Tell whether one finger can hold both keys at once."""
        return frozenset((first.id, second.id)) in self.together
