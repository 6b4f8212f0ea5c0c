"""Parser of layout files (TOML), to a checked `Layout`.

The shipped files in `layouts/` are the example of the form: `soprano-17-6.toml` is written in
full, others say only how they differ (`analysis.keywork.layout_inheritance`). Every table is read
field by field; a missing, misspelt or unfit field is a `LayoutError` that names the key, the field
and the line. A file may come from anywhere, so its size, counts, numbers and characters have
limits.

The fields of a file written in full (all must be there unless a default is named)::

    id, version, name, provenance          id: small letters, digits, hyphens; version: 1 and up
    kinds                                  ids of `analysis.pitch.KINDS`; may be empty
    lowest                                 the lowest written note, treble notation, such as "E3"
    right_thumb                            what it usually does: carries, shares, own-keys, free
                                           (the default: it works every key that it reaches)
    view_box = [x, y, 240, height]         of the drawing
    together = [[key, key], ...]           pairs that one finger can hold at once
    [text]  prefix, left, right            keys before the left hand; each hand's holes
    [[guides]]  from, to                   lines that are no keys
    [[captions]]  hand, at                 where the names of the hands stand
    [[keys]]  id, name, token              token: its word in the text form
        spoken, aliases, note              defaults: the name, none, none
        hand, finger                       left, right; thumb, first, second, third, little
        also                               other fingers that reach it, "right thumb"; default none
        kind                               ring, hole, plate, key
        acts                               hole (a finger's own), opens, closes
        states                             of up, down, and shaded (a half-hole) or vented (a plate
                                           with a small hole of its own)
        rolled                             when a finger half off its hole is ordinary, any of
                                           { while_down, while_up }; default never
        optional, usual                    may be missing (default no); is there (default yes)
        group, cluster, behind             what is drawn together; default of both flags: no
        label or label_note, label_at      what is printed (a note in the player's language), where
        outline, hit                       form; touch target, 30 by 30 or more, none overlapping
    [[holes]]  id, name, stands            from the top down; stands: open, closed
        finger                             the key that covers it; default none
        closed_by, opened_by               keys, or { key, while_down, while_up }; default none
    [[fingerings]]  note, text, choice     text in canonical form; choices of a note 1, 2, 3...
        remark                             default none
        to_try                             whether it is no more than worth trying (default no):
                                           such a note has no ordinary fingering
    [instrument]  without, names           one player's missing keys and own names; may be absent
        right_thumb                        what theirs does; default as above
"""

from __future__ import annotations

import tomllib
from typing import Any

from analysis.keywork.customising import customise
from analysis.keywork.errors import KeyworkError, LayoutError
from analysis.keywork.fault_lines import find_line
from analysis.keywork.keys import (
    Acts,
    Bar,
    Caption,
    Circle,
    Condition,
    Digit,
    Finger,
    Guide,
    Hand,
    Hole,
    Key,
    KeyKind,
    Mover,
    OrdinaryLine,
    Outline,
    Rectangle,
    State,
    TextPlaces,
)
from analysis.keywork.layout import Layout, ViewBox
from analysis.keywork.layout_checks import check_layout
from analysis.keywork.layout_inheritance import merge_extended
from analysis.keywork.ordinary import read_ordinary
from analysis.keywork.right_thumb import RightThumb
from analysis.keywork.toml_fields import MAX_ID, Fields, shown
from analysis.pitch import WrittenPitch
from analysis.pitch.errors import PitchError

# The largest shipped layout takes 32 kB when it is written in full.
MAX_CHARACTERS = 200_000


def read_layout(text: str, *, source: str = "?") -> Layout:
    """Read and check a layout.

    `text` is the whole file, `source` how errors name it until its own id is known. Returns
    the layout with its usual keys (or those that the table `instrument` leaves it); the others
    can be fitted with `customise`. Raises `LayoutError` naming the key or field that can't be used
    and its line.

    >>> read_layout('id = "mine"')
    Traceback (most recent call last):
    ...
    analysis.keywork.errors.LayoutError: The layout 'mine' can't be used: the layout, field \
'view_box': this field is missing; add it
    """
    table = _parse(text, source)
    layout_id = str(table.get("id", source))[:MAX_ID]
    try:
        return _read(merge_extended(table, layout_id), layout_id)
    except LayoutError as error:
        line = find_line(text, error.place)
        raise LayoutError(error.layout_id, error.place, error.problem, line=line) from error


def _parse(text: str, source: str) -> dict[str, Any]:
    if len(text) > MAX_CHARACTERS:
        problem = f"{len(text)} characters are too many; {MAX_CHARACTERS} are allowed"
        raise LayoutError(source, "the file", problem)
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise LayoutError(source, "the file", f"it is not TOML: {error}") from error


def _read(table: dict[str, Any], layout_id: str) -> Layout:
    fields = Fields(table, layout_id=layout_id, place="the layout")
    layout = _layout(fields)
    instrument = fields.table("instrument") if fields.has("instrument") else None
    fields.finish()
    check_layout(layout)
    read_ordinary(layout)
    if instrument is None:
        return customise(layout)
    return _customised(layout, instrument)


def _customised(layout: Layout, instrument: Fields) -> Layout:
    without = frozenset(instrument.texts("without", []))
    own = instrument.table("names")
    names = {key_id: own.text(key_id) for key_id in own.names}
    thumb = _thumb(instrument)
    instrument.finish()
    try:
        return customise(layout, without=without, names=names, right_thumb=thumb)
    except LayoutError:
        raise
    except KeyworkError as error:
        raise LayoutError(layout.id, "instrument", str(error)) from error


def _thumb(fields: Fields) -> RightThumb | None:
    return fields.choice("right_thumb", RightThumb) if fields.has("right_thumb") else None


def _layout(fields: Fields) -> Layout:
    x, y, width, height = fields.numbers("view_box", 4)
    view_box: ViewBox = (x, y, width, height)
    return Layout(
        id=fields.identifier("id"),
        version=fields.whole("version"),
        name=fields.text("name"),
        provenance=fields.text("provenance"),
        kinds=fields.texts("kinds"),
        lowest=_written(fields, "lowest"),
        view_box=view_box,
        keys=tuple(_key(key) for key in fields.tables("keys", called="key", by="id")),
        holes=tuple(_hole(hole) for hole in fields.tables("holes", called="hole", by="id")),
        together=_together(fields),
        text=_text_places(fields.table("text")),
        guides=tuple(_guide(line) for line in fields.tables("guides", called="guide", by="id")),
        captions=tuple(
            _caption(caption) for caption in fields.tables("captions", called="caption", by="hand")
        ),
        right_thumb=_thumb(fields) or RightThumb.FREE,
        ordinary=tuple(
            _ordinary(line) for line in fields.tables("fingerings", called="fingering", by="note")
        ),
    )


def _written(fields: Fields, name: str) -> WrittenPitch:
    text = fields.text(name)
    try:
        return WrittenPitch.from_canonical(text)
    except PitchError as error:
        raise fields.error(name, f"{shown(text)} is no written note: {error}") from error


def _together(fields: Fields) -> frozenset[frozenset[str]]:
    pairs = set()
    for pair in fields.lists("together"):
        if not isinstance(pair, list) or len({str(one) for one in pair}) != 2:
            raise fields.error("together", f"a pair of two keys was expected, not {shown(pair)}")
        pairs.add(frozenset(str(one) for one in pair))
    return frozenset(pairs)


def _key(fields: Fields) -> Key:
    name = fields.text("name")
    key = Key(
        id=fields.identifier("id"),
        name=name,
        spoken=fields.text("spoken", name),
        token=fields.text("token"),
        aliases=fields.texts("aliases", []),
        hand=fields.choice("hand", Hand),
        finger=fields.choice("finger", Finger),
        also=tuple(_digit(fields, text) for text in fields.texts("also", [])),
        kind=fields.choice("kind", KeyKind),
        acts=fields.choice("acts", Acts),
        states=fields.choices("states", State),
        note=fields.text("note", ""),
        group=fields.text("group"),
        cluster=fields.flag("cluster"),
        is_behind=fields.flag("behind"),
        label=_label(fields),
        is_label_note=fields.has("label_note"),
        label_at=_point(fields, "label_at") if fields.has("label_at") else None,
        outline=_outline(fields.table("outline")),
        hit=Rectangle(*fields.numbers("hit", 4)),
        is_optional=fields.flag("optional"),
        is_usual=fields.flag("usual", default=True),
        rolled=tuple(_condition(fields, entry) for entry in fields.lists("rolled")),
    )
    fields.finish()
    return key


def _condition(fields: Fields, entry: object) -> Condition:
    if not isinstance(entry, dict):
        raise fields.error("rolled", f"a table with while_down was expected, not {shown(entry)}")
    inner = Fields(entry, layout_id=fields.layout_id, place=f"{fields.place}, rolled")
    condition = Condition(inner.texts("while_down"), inner.texts("while_up", []))
    inner.finish()
    return condition


def _label(fields: Fields) -> str:
    return fields.text("label_note") if fields.has("label_note") else fields.text("label")


def _point(fields: Fields, name: str) -> tuple[float, float]:
    x, y = fields.numbers(name, 2)
    return x, y


def _digit(fields: Fields, text: str) -> Digit:
    hand, _, finger = text.partition(" ")
    try:
        return Digit(Hand(hand), Finger(finger))
    except ValueError as error:
        raise fields.error(
            "also", f"{shown(text)} is no finger; write it as 'right thumb'"
        ) from error


def _outline(fields: Fields) -> Outline:
    kind = fields.text("kind")
    x, y = fields.number("x"), fields.number("y")
    if kind == "circle":
        outline: Outline = Circle(x, y, fields.number("radius"))
    elif kind == "bar":
        outline = Bar(
            x,
            y,
            fields.number("width"),
            fields.number("height"),
            fields.number("corner"),
            fields.number("turn", 0.0),
        )
    else:
        raise fields.error("kind", f"{shown(kind)} is neither circle nor bar")
    fields.finish()
    return outline


def _hole(fields: Fields) -> Hole:
    stands = fields.text("stands")
    if stands not in {"open", "closed"}:
        raise fields.error("stands", f"{shown(stands)} is neither open nor closed")
    hole = Hole(
        id=fields.identifier("id"),
        name=fields.text("name"),
        stands_open=stands == "open",
        finger_key_id=fields.text("finger") if fields.has("finger") else None,
        closed_by=_movers(fields, "closed_by"),
        opened_by=_movers(fields, "opened_by"),
    )
    fields.finish()
    return hole


def _movers(fields: Fields, name: str) -> tuple[Mover, ...]:
    return tuple(_mover(fields, name, entry) for entry in fields.lists(name))


def _mover(fields: Fields, name: str, entry: object) -> Mover:
    if isinstance(entry, str):
        return Mover(entry)
    if not isinstance(entry, dict):
        raise fields.error(name, f"a key or a table with a key was expected, not {shown(entry)}")
    inner = Fields(entry, layout_id=fields.layout_id, place=f"{fields.place}, {name}")
    mover = Mover(inner.text("key"), inner.texts("while_down", []), inner.texts("while_up", []))
    inner.finish()
    return mover


def _text_places(fields: Fields) -> TextPlaces:
    places = TextPlaces(fields.texts("prefix"), fields.texts("left"), fields.texts("right"))
    fields.finish()
    return places


def _guide(fields: Fields) -> Guide:
    guide = Guide(*fields.numbers("from", 2), *fields.numbers("to", 2))
    fields.finish()
    return guide


def _caption(fields: Fields) -> Caption:
    caption = Caption(fields.choice("hand", Hand), *fields.numbers("at", 2))
    fields.finish()
    return caption


def _ordinary(fields: Fields) -> OrdinaryLine:
    line = OrdinaryLine(
        _written(fields, "note").canonical,
        fields.text("text"),
        fields.whole("choice"),
        fields.text("remark", ""),
        is_to_try=fields.flag("to_try"),
    )
    fields.finish()
    return line
