"""First takes on an instrument: some ordinary notes, and some simple cross-fingerings.

Ordinary notes show how the instrument stands and how much its notes scatter. They are in tune on
any good instrument, whatever its tube is like, so they can't show how far a prediction for another
fingering is to be trusted. A note with one key more, a quarter tone away, can: it moves as much as
the tube makes it, and nobody tuned it. Those asked for are easy for any player of the clarion.

Source of the cross-fingerings: the low E key on E5 and the right cross key on F#5 are common
practice for quarter tones; one finger more on F#5 and A5 is a plain fork. From memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import State
from analysis.keywork.layout import Layout
from analysis.keywork.ordinary import OrdinaryFingering, ordinary_fingerings
from analysis.pitch import Register, WrittenPitch, register_of

# Ordinary notes below the altissimo, shared out among the registers.
_ORDINARY_COUNT = 5


class _Cross(NamedTuple):
    """The usual fingering of `base` with one key more, the first of `added`, for about `note`.

    The key `holding` must be down in it.
    """

    base: str
    holding: str
    added: tuple[str, ...]
    note: str


# Those that close a hole move most with the measures of the tube; the cross key, which opens one,
# shows how the instrument takes a shift that rests on them little.
_CROSSES = (
    _Cross("E5", "r2", ("right-e", "left-e"), "E5-50c"),
    _Cross("F#5", "l3", ("r3",), "F5+50c"),
    _Cross("F#5", "r2", ("right-cross",), "G5-50c"),
    _Cross("A5", "l2", ("r1",), "A5-50c"),
)


@dataclass(frozen=True, slots=True)
class FirstFingering:
    """A fingering to record on the first day.

    `written` is the note that it is played for, in treble notation; a cross-fingering comes near
    its own by a quarter tone or so. `base` is the ordinary fingering itself, or the one that the
    cross-fingering adds a key to.
    """

    written: WrittenPitch
    fingering: KeyStates
    base: OrdinaryFingering

    @property
    def is_cross(self) -> bool:
        """Whether it is a cross-fingering."""
        return self.fingering != self.base.fingering


def list_first_day(layout: Layout) -> tuple[FirstFingering, ...]:
    """List what to record first: ordinary notes from low to high, then cross-fingerings.

    Every register has its share of the ordinary notes, by the number of its notes and at least
    one, spread evenly; of the altissimo only the lowest is asked for, as not everybody has more,
    and none that needs a half-hole, which can't be set the same way twice. Where nothing of the
    altissimo is ordinary, one more note of the others is. A layout that lacks a key goes without
    its cross-fingering.

    >>> from analysis.keywork import format_fingering, load_layout
    >>> first_day = list_first_day(load_layout("soprano-17-6"))
    >>> [one.written.canonical for one in first_day if not one.is_cross]
    ['G3', 'Eb4', 'A4', 'D5', 'A5', 'C#6']
    >>> format_fingering(first_day[6].fingering)
    'T R 123 | 12- | right E'
    """
    usual = [one for one in ordinary_fingerings(layout) if one.choice == 1]
    ordinary = [FirstFingering(one.written, one.fingering, one) for one in _spread(usual)]
    return (*ordinary, *_find_crosses(layout, usual))


def _spread(usual: Sequence[OrdinaryFingering]) -> Iterator[OrdinaryFingering]:
    registers = groupby(usual, key=lambda one: register_of(one.written))
    notes = {register: list(members) for register, members in registers}
    highest = notes.pop(Register.ALTISSIMO, [])
    total = sum(map(len, notes.values()))
    wanted = _ORDINARY_COUNT if highest else _ORDINARY_COUNT + 1
    for members in notes.values():
        count = max(1, round(wanted * len(members) / total))
        for place in range(count):
            yield members[int((place + 0.5) * len(members) / count)]
    yield from [one for one in highest if not one.fingering.has_half_hole][:1]


def _find_crosses(layout: Layout, usual: Sequence[OrdinaryFingering]) -> Iterator[FirstFingering]:
    by_note = {one.written.canonical: one for one in usual}
    known = {key.id for key in layout.keys}
    for cross in _CROSSES:
        base = by_note.get(cross.base)
        added = next((key_id for key_id in cross.added if key_id in known), None)
        if base is None or added is None or cross.holding not in known:
            continue
        if base.fingering.state(cross.holding) is State.DOWN:
            fingering = base.fingering.replaced(added, State.DOWN)
            yield FirstFingering(WrittenPitch.from_canonical(cross.note), fingering, base)
