"""Customised layouts: one player's instrument, as it is made, named and held.

A layout's file declares which keys are optional, and which of those are usual. Everything that a
missing key took part in goes with it: the fingerings that need it, the pairs it lies in, and its
part in the linkage. Holes stay: a pad that no key works any more stays as it stands by itself.
What the right thumb does takes away no key: it decides which keys that finger presses, and a
fingering that no hands can hold any more is ordinary no longer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from analysis.keywork.errors import KeyNotOptional, LayoutError
from analysis.keywork.hands import find_conflicts
from analysis.keywork.key_names import fold, typed_names
from analysis.keywork.keys import Condition, Hole, Key, Mover, OrdinaryLine
from analysis.keywork.layout import Layout, ViewBox
from analysis.keywork.layout_checks import check_names
from analysis.keywork.ordinary import OrdinaryFingering, read_ordinary
from analysis.keywork.right_thumb import RIGHT_THUMB, RightThumb
from analysis.keywork.text import format_fingering
from analysis.pitch import WrittenPitch

MAX_NAME = 60


def customise(
    layout: Layout,
    *,
    without: frozenset[str] | None = None,
    names: Mapping[str, str] | None = None,
    right_thumb: RightThumb | None = None,
) -> Layout:
    """Make the layout of an instrument that lacks some keys, calls some otherwise, or is held so.

    `without` is the complete set of the optional keys that the instrument lacks: the empty set
    fits every key that the layout declares, None leaves the choice to the layout's file. `names`
    maps key ids to the player's names; a name is also understood when typed, and the text form
    keeps the layout's own word, so that stored fingerings read the same. `right_thumb` says what
    that thumb does; None leaves this to the layout's file, too. It makes no difference whether
    `layout` was customised before. Returns a layout of the same id and version whose
    `customisation` tells it apart.

    Raises `UnknownKey` for a key that the layout lacks, `KeyNotOptional` for one that can't be
    switched off, `LayoutError` for a name that is taken or can't be used.

    >>> from analysis.keywork import load_layout
    >>> bass = customise(load_layout("bass-low-c"), without=frozenset({"left-d", "left-eb"}))
    >>> bass.has_key("left-d"), bass.has_key("left-c")
    (False, True)
    """
    full = layout.complete
    absent = full.usual_without if without is None else without
    own = {key_id: name.strip() for key_id, name in (names or {}).items()}
    _check_absent(full, absent)
    _check_own(full, own)
    thumb = full.right_thumb if right_thumb is None else right_thumb
    if not absent and not own and thumb is full.right_thumb:
        return full
    ordinary = _lines_left(full, absent)
    keys = tuple(_as_fitted(key, absent, own) for key in full.keys if key.id not in absent)
    made = replace(
        full,
        keys=keys,
        view_box=_view_box(full, keys),
        holes=tuple(_relinked(hole, absent) for hole in full.holes),
        together=frozenset(pair for pair in full.together if not pair & absent),
        ordinary=ordinary,
        lowest=_lowest(full, ordinary),
        right_thumb=thumb,
        without=frozenset(absent),
        renamed=tuple(sorted(own.items())),
        full=full,
    )
    check_names(made)
    return made if thumb is full.right_thumb else _with_held_lines(made)


def optional_keys(layout: Layout) -> tuple[Key, ...]:
    """List the keys that an instrument of this layout may lack, whether it has them or not.

    >>> from analysis.keywork import load_layout
    >>> [key.name for key in optional_keys(load_layout("soprano-17-6"))]
    ['left A flat/E flat lever']
    """
    return tuple(key for key in layout.complete.keys if key.is_optional)


def right_thumb_choices(layout: Layout) -> tuple[RightThumb, ...]:
    """List what the right thumb may be said to do: what makes a difference to this keywork.

    None where no key is made so that it could press it.

    >>> from analysis.keywork import load_layout
    >>> [one.value for one in right_thumb_choices(load_layout("bass-low-eb"))]
    ['carries', 'free']
    """
    keys = layout.complete.keys
    owns = any(key.digit == RIGHT_THUMB for key in keys)
    reaches = any(RIGHT_THUMB in key.also for key in keys)
    if not owns and not reaches:
        return ()
    some = (RightThumb.SHARES,) if owns else ()
    further = (RightThumb.OWN_KEYS,) if owns and reaches else ()
    return (RightThumb.CARRIES, *some, *further, RightThumb.FREE)


def _check_absent(full: Layout, absent: frozenset[str]) -> None:
    for key_id in sorted(absent):
        key = full.key(key_id)
        if not key.is_optional:
            raise KeyNotOptional(key.name, full.name, [one.name for one in optional_keys(full)])


def _check_own(full: Layout, own: Mapping[str, str]) -> None:
    for key_id, name in own.items():
        place = f"key {full.key(key_id).id!r}, its new name"
        if not name or not name.isprintable():
            raise LayoutError(full.id, place, "write a name that can be printed")
        if len(name) > MAX_NAME:
            raise LayoutError(full.id, place, f"use up to {MAX_NAME} characters")
        for other in full.keys:
            if other.id != key_id and fold(name) in map(fold, typed_names(full, other)):
                raise LayoutError(full.id, place, f"{name!r} already means the {other.name}")


def _view_box(full: Layout, keys: tuple[Key, ...]) -> ViewBox:
    """Cut off what the missing keys leave empty below."""
    x, y, width, height = full.view_box
    return x, y, width, height - (_bottom(full.keys) - _bottom(keys))


def _bottom(keys: tuple[Key, ...]) -> float:
    return max(key.hit.y + key.hit.height for key in keys)


def _as_fitted(key: Key, absent: frozenset[str], own: Mapping[str, str]) -> Key:
    if key.rolled:
        key = replace(key, rolled=_conditions_left(key.rolled, absent))
    if key.id not in own:
        return key
    return replace(key, name=own[key.id], spoken=own[key.id], aliases=(*key.aliases, key.name))


def _conditions_left(
    conditions: tuple[Condition, ...], absent: frozenset[str]
) -> tuple[Condition, ...]:
    return tuple(
        replace(one, while_up=tuple(other for other in one.while_up if other not in absent))
        for one in conditions
        if not absent & set(one.while_down)
    )


def _relinked(hole: Hole, absent: frozenset[str]) -> Hole:
    return replace(
        hole,
        closed_by=_movers_left(hole.closed_by, absent),
        opened_by=_movers_left(hole.opened_by, absent),
    )


def _movers_left(movers: tuple[Mover, ...], absent: frozenset[str]) -> tuple[Mover, ...]:
    return tuple(
        replace(mover, while_up=tuple(one for one in mover.while_up if one not in absent))
        for mover in movers
        if not absent & {mover.key_id, *mover.while_down}
    )


def _with_held_lines(made: Layout) -> Layout:
    """Keep only the fingerings that hands can hold as the instrument is played."""
    held = [one for one in read_ordinary(made) if not find_conflicts(one.fingering)]
    return replace(made, ordinary=_number_anew(held))


def _lines_left(full: Layout, absent: frozenset[str]) -> tuple[OrdinaryLine, ...]:
    """Keep the fingerings that need no missing key."""
    kept = (
        one for one in read_ordinary(full) if not absent & {key.id for key in one.fingering.pressed}
    )
    return _number_anew(kept)


def _number_anew(fingerings: Iterable[OrdinaryFingering]) -> tuple[OrdinaryLine, ...]:
    """Write fingerings as lines, with the choices of each note numbered 1, 2, 3."""
    kept: list[OrdinaryLine] = []
    choices: dict[str, int] = {}
    for one in fingerings:
        note = one.written.canonical
        choices[note] = choices.get(note, 0) + 1
        text = format_fingering(one.fingering)
        kept.append(OrdinaryLine(note, text, choices[note], one.remark, one.is_to_try))
    return tuple(kept)


def _lowest(full: Layout, ordinary: tuple[OrdinaryLine, ...]) -> WrittenPitch:
    notes = {WrittenPitch.from_canonical(line.note) for line in ordinary}
    declared = {WrittenPitch.from_canonical(line.note) for line in full.ordinary}
    if full.lowest not in declared or full.lowest in notes or not notes:
        return full.lowest
    return min(notes)
