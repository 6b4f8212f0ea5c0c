"""Validation of a layout before it is used; every failure names the key or field."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analysis.keywork.drawing_checks import check_drawing
from analysis.keywork.errors import LayoutError
from analysis.keywork.key_names import fold, is_hand, typed_names
from analysis.keywork.keys import Acts, Key, KeyKind, State
from analysis.keywork.layout import Layout
from analysis.pitch import KINDS

# Limits far above any clarinet; what is done with a layout grows with them.
MAX_PARTS = 100
MAX_FURTHER_FINGERS = 2

# Characters that have a meaning of their own in the text form.
RESERVED = frozenset("|,;+()")


def check_layout(layout: Layout) -> None:
    """Check what joins the parts of a layout; raises `LayoutError` at the first fault.

    The ordinary fingerings are checked by `ordinary.read_ordinary`.
    """
    _check_kinds(layout)
    _check_unique(layout)
    for key in layout.keys:
        _check_key(layout, key)
    _check_references(layout)
    _check_text_places(layout)
    check_names(layout)
    check_drawing(layout)


def _check_kinds(layout: Layout) -> None:
    unknown = sorted(set(layout.kinds) - set(KINDS))
    if unknown:
        known = ", ".join(KINDS)
        raise LayoutError(
            layout.id, "field 'kinds'", f"{unknown[0]!r} is no clarinet known here: {known}"
        )


def _check_unique(layout: Layout) -> None:
    for what, ids in (
        ("key", [key.id for key in layout.keys]),
        ("hole", [hole.id for hole in layout.holes]),
    ):
        if not ids:
            raise LayoutError(layout.id, f"field '{what}s'", f"add at least one {what}")
        if len(ids) > MAX_PARTS:
            raise LayoutError(layout.id, f"field '{what}s'", f"use up to {MAX_PARTS}")
        twice = _first_repeated(ids)
        if twice is not None:
            raise LayoutError(layout.id, f"{what} {twice!r}", "this id is given twice")


def _first_repeated(names: Iterable[str]) -> str | None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            return name
        seen.add(name)
    return None


def _check_key(layout: Layout, key: Key) -> None:
    place = f"key {key.id!r}"
    if State.UP not in key.states or len(set(key.states)) != len(key.states):
        raise LayoutError(layout.id, f"{place}, field 'states'", "'up' must be there, each once")
    if len(key.states) < 2:
        raise LayoutError(layout.id, f"{place}, field 'states'", "a key needs a second state")
    _check_partial(layout, key)
    if len(key.also) > MAX_FURTHER_FINGERS:
        raise LayoutError(layout.id, f"{place}, field 'also'", f"use up to {MAX_FURTHER_FINGERS}")
    placed = {*layout.text.prefix, *layout.text.left, *layout.text.right}
    if key.is_optional and (key.acts is Acts.HOLE or key.id in placed):
        raise LayoutError(
            layout.id, f"{place}, field 'optional'", "a finger's hole or a prefix can't be missing"
        )
    if not key.is_usual and not key.is_optional:
        raise LayoutError(layout.id, f"{place}, field 'usual'", "add 'optional = true'")


def _check_partial(layout: Layout, key: Key) -> None:
    """A finger's ring or hole can be half covered; a plate can have a small hole instead."""
    place = f"key {key.id!r}, field 'states'"
    if key.partial is not None and key.acts is not Acts.HOLE:
        raise LayoutError(layout.id, place, f"only a key that covers a hole can be {key.partial}")
    if State.SHADED in key.states and key.kind is KeyKind.PLATE:
        raise LayoutError(
            layout.id, place, "a plate can't be 'shaded'; one with a small hole is 'vented'"
        )
    if State.VENTED in key.states and key.kind is not KeyKind.PLATE:
        raise LayoutError(layout.id, place, "only a plate can be 'vented'")


def _check_references(layout: Layout) -> None:
    for place, key_ids in _references(layout):
        for key_id in key_ids:
            if not layout.has_key(key_id):
                raise LayoutError(layout.id, place, f"there is no key {key_id!r}")
    covered = {hole.finger_key_id for hole in layout.holes}
    for key in layout.keys:
        if key.acts is Acts.HOLE and key.id not in covered:
            raise LayoutError(layout.id, f"key {key.id!r}", "no hole names it as its finger")
        if key.acts is not Acts.HOLE and not _moves_a_pad(layout, key):
            raise LayoutError(layout.id, f"key {key.id!r}", f"it {key.acts} no hole")


def _moves_a_pad(layout: Layout, key: Key) -> bool:
    return any(
        mover.key_id == key.id
        for hole in layout.holes
        for mover in (hole.opened_by if key.acts is Acts.OPENS else hole.closed_by)
    )


def _references(layout: Layout) -> Iterator[tuple[str, Iterable[str]]]:
    for pair in layout.together:
        yield "field 'together'", sorted(pair)
    for name in ("prefix", "left", "right"):
        yield f"text, field {name!r}", getattr(layout.text, name)
    for key in layout.keys:
        for condition in key.rolled:
            ids = (*condition.while_down, *condition.while_up)
            yield f"key {key.id!r}, field 'rolled'", ids
    for hole in layout.holes:
        place = f"hole {hole.id!r}"
        if hole.finger_key_id is not None:
            yield f"{place}, field 'finger'", (hole.finger_key_id,)
        for name, movers in (("closed_by", hole.closed_by), ("opened_by", hole.opened_by)):
            for mover in movers:
                ids = (mover.key_id, *mover.while_down, *mover.while_up)
                yield f"{place}, field {name!r}", ids


def _check_text_places(layout: Layout) -> None:
    places = layout.text
    twice = _first_repeated([*places.prefix, *places.left, *places.right])
    if twice is not None:
        raise LayoutError(layout.id, "text", f"the key {twice!r} has two places")
    for key in layout.select(places.prefix):
        if not key.token.isalpha():
            raise LayoutError(layout.id, f"key {key.id!r}, field 'token'", "letters were expected")
    for hand in (places.left, places.right):
        tokens = [key.token for key in layout.select(hand)]
        if not hand or any(len(token) != 1 or not token.isdigit() for token in tokens):
            raise LayoutError(layout.id, "text", f"single digits were expected, not {tokens!r}")
        if tokens != sorted(set(tokens)):
            raise LayoutError(layout.id, "text", f"the digits {tokens!r} must rise")
    for key in layout.extras:
        if not any(character.isalpha() for character in key.token):
            raise LayoutError(layout.id, f"key {key.id!r}, field 'token'", "a word was expected")


def check_names(layout: Layout) -> None:
    """Check that every name under which a key can be typed means that key alone."""
    prefix = set(layout.text.prefix)
    seen: dict[str, Key] = {}
    for key in layout.keys:
        for name in typed_names(layout, key):
            if RESERVED & set(name):
                raise LayoutError(
                    layout.id, f"key {key.id!r}", f"the name {name!r} has one of | , ; + ( )"
                )
            if is_hand(name, layout) and not (name == key.token and key.id in prefix):
                raise LayoutError(
                    layout.id, f"key {key.id!r}", f"the name {name!r} reads as a hand's holes"
                )
            other = seen.setdefault(fold(name), key)
            if other.id != key.id:
                raise LayoutError(
                    layout.id, f"key {key.id!r}", f"the name {name!r} already means {other.id!r}"
                )
