"""From the text of a layout file (TOML) to a checked `Layout`.

The shipped files in `layouts/` are the example of the form. Every table is read field by field;
a missing, misspelt or unfit field is a `LayoutError` that names the key and the field.
"""

from __future__ import annotations

import tomllib

from analysis.keywork.checking import check_layout
from analysis.keywork.errors import LayoutError
from analysis.keywork.fields import Fields
from analysis.keywork.keys import (
    Acts,
    Bar,
    Caption,
    Circle,
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
from analysis.keywork.ordinary import read_ordinary
from analysis.pitch import WrittenPitch
from analysis.pitch.errors import PitchError


def read_layout(text: str, *, source: str = "?") -> Layout:
    """Read and check a layout.

    `text` is the whole file, `source` how errors name it until its own id is known. Returns
    the layout. Raises `LayoutError` naming the key or field that can't be used.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise LayoutError(source, "the file", f"it is not TOML: {error}") from error
    fields = Fields(table, layout_id=str(table.get("id", source)), place="the layout")
    layout = _layout(fields)
    fields.finish()
    check_layout(layout)
    read_ordinary(layout)
    return layout


def _layout(fields: Fields) -> Layout:
    x, y, width, height = fields.numbers("view_box", 4)
    view_box: ViewBox = (x, y, width, height)
    return Layout(
        id=fields.text("id"),
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
        ordinary=tuple(
            _ordinary(line) for line in fields.tables("fingerings", called="fingering", by="note")
        ),
    )


def _written(fields: Fields, name: str) -> WrittenPitch:
    text = fields.text(name)
    try:
        return WrittenPitch.from_canonical(text)
    except PitchError as error:
        raise fields.error(name, f"{text!r} is no written note: {error}") from error


def _together(fields: Fields) -> frozenset[frozenset[str]]:
    pairs = set()
    for pair in fields.lists("together"):
        if not isinstance(pair, list) or len({str(one) for one in pair}) != 2:
            raise fields.error("together", f"a pair of two keys was expected, not {pair!r}")
        pairs.add(frozenset(str(one) for one in pair))
    return frozenset(pairs)


def _key(fields: Fields) -> Key:
    name = fields.text("name")
    key = Key(
        id=fields.text("id"),
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
    )
    fields.finish()
    return key


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
        raise fields.error("also", f"{text!r} is no finger; write it as 'right thumb'") from error


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
        raise fields.error("kind", f"{kind!r} is neither circle nor bar")
    fields.finish()
    return outline


def _hole(fields: Fields) -> Hole:
    stands = fields.text("stands")
    if stands not in {"open", "closed"}:
        raise fields.error("stands", f"{stands!r} is neither open nor closed")
    hole = Hole(
        id=fields.text("id"),
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
        raise fields.error(name, f"a key or a table with a key was expected, not {entry!r}")
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
    )
    fields.finish()
    return line
