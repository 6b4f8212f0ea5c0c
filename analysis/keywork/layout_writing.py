"""Writer of layout files (TOML): a layout as text, to be kept, sent to somebody, or edited."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator

from analysis.keywork.keys import Bar, Condition, Digit, Hole, Key, Mover, OrdinaryLine, Outline
from analysis.keywork.layout import Layout
from analysis.keywork.right_thumb import RightThumb


def write_layout(layout: Layout) -> str:
    """Write a layout as TOML, in full.

    Every field that does not have its usual value is written; the missing and renamed keys of a
    customised layout, and what its player's right thumb does, stand in the table `instrument`.
    Returns text from which `read_layout` makes an equal layout.

    >>> from analysis.keywork import load_layout, read_layout
    >>> bass = load_layout("bass-low-c")
    >>> read_layout(write_layout(bass)) == bass
    True
    """
    full = layout.complete
    blocks = [_head(full)]
    if layout.customisation:
        blocks.append(_instrument(layout))
    blocks.append(_text_places(full))
    blocks += [
        f"[[guides]]\nfrom = {_numbers((one.x1, one.y1))}\nto = {_numbers((one.x2, one.y2))}"
        for one in full.guides
    ]
    blocks += [
        f"[[captions]]\nhand = {_text(one.hand)}\nat = {_numbers((one.x, one.y))}"
        for one in full.captions
    ]
    blocks += ["[[keys]]\n" + "\n".join(_key(key)) for key in full.keys]
    blocks += ["[[holes]]\n" + "\n".join(_hole(hole)) for hole in full.holes]
    blocks += ["[[fingerings]]\n" + "\n".join(_line(line)) for line in full.ordinary]
    return "\n\n".join(blocks) + "\n"


def _head(layout: Layout) -> str:
    pairs = sorted(sorted(pair, key=layout.index) for pair in layout.together)
    lines = [
        f"id = {_text(layout.id)}",
        f"version = {layout.version}",
        f"name = {_text(layout.name)}",
        f"provenance = {_text(layout.provenance)}",
        f"kinds = {_texts(layout.kinds)}",
        f"lowest = {_text(layout.lowest.canonical)}",
        f"view_box = {_numbers(layout.view_box)}",
        *_thumb(layout.right_thumb, RightThumb.FREE),
        "together = [",
        *(f"    {_texts(pair)}," for pair in pairs),
        "]",
    ]
    return "\n".join(lines)


def _instrument(layout: Layout) -> str:
    names = ", ".join(f"{_text(key_id)} = {_text(name)}" for key_id, name in layout.renamed)
    without = _texts(sorted(layout.without))
    lines = ["[instrument]", f"without = {without}", f"names = {{ {names} }}"]
    return "\n".join([*lines, *_thumb(layout.right_thumb, layout.complete.right_thumb)])


def _thumb(thumb: RightThumb, usual: RightThumb) -> tuple[str, ...]:
    return () if thumb is usual else (f"right_thumb = {_text(thumb)}",)


def _text_places(layout: Layout) -> str:
    places = layout.text
    return "\n".join(
        (
            "[text]",
            f"prefix = {_texts(places.prefix)}",
            f"left = {_texts(places.left)}",
            f"right = {_texts(places.right)}",
        )
    )


def _key(key: Key) -> Iterator[str]:
    yield f"id = {_text(key.id)}"
    yield f"name = {_text(key.name)}"
    if key.spoken != key.name:
        yield f"spoken = {_text(key.spoken)}"
    yield f"token = {_text(key.token)}"
    if key.aliases:
        yield f"aliases = {_texts(key.aliases)}"
    yield f"hand = {_text(key.hand)}"
    yield f"finger = {_text(key.finger)}"
    if key.also:
        yield f"also = {_texts(map(_digit, key.also))}"
    yield f"kind = {_text(key.kind)}"
    yield f"acts = {_text(key.acts)}"
    yield f"states = {_texts(key.states)}"
    if key.rolled:
        yield f"rolled = [{', '.join(map(_condition, key.rolled))}]"
    if key.note:
        yield f"note = {_text(key.note)}"
    yield f"group = {_text(key.group)}"
    yield from _key_flags(key)
    yield from _key_drawing(key)


def _condition(condition: Condition) -> str:
    down, up = _texts(condition.while_down), _texts(condition.while_up)
    return f"{{ while_down = {down}, while_up = {up} }}"


def _key_flags(key: Key) -> Iterator[str]:
    if key.cluster:
        yield "cluster = true"
    if key.is_behind:
        yield "behind = true"
    if key.is_optional:
        yield "optional = true"
    if not key.is_usual:
        yield "usual = false"


def _key_drawing(key: Key) -> Iterator[str]:
    yield f"{'label_note' if key.is_label_note else 'label'} = {_text(key.label)}"
    if key.label_at is not None:
        yield f"label_at = {_numbers(key.label_at)}"
    yield f"outline = {_outline(key.outline)}"
    yield f"hit = {_numbers((key.hit.x, key.hit.y, key.hit.width, key.hit.height))}"


def _outline(outline: Outline) -> str:
    fields = {"x": outline.x, "y": outline.y}
    if isinstance(outline, Bar):
        fields |= {"width": outline.width, "height": outline.height, "corner": outline.corner}
        if outline.turn_degrees:
            fields["turn"] = outline.turn_degrees
    else:
        fields["radius"] = outline.radius
    kind = "bar" if isinstance(outline, Bar) else "circle"
    inner = "".join(f", {name} = {_number(value)}" for name, value in fields.items())
    return f"{{ kind = {_text(kind)}{inner} }}"


def _hole(hole: Hole) -> Iterator[str]:
    yield f"id = {_text(hole.id)}"
    yield f"name = {_text(hole.name)}"
    yield f"stands = {_text('open' if hole.stands_open else 'closed')}"
    if hole.finger_key_id is not None:
        yield f"finger = {_text(hole.finger_key_id)}"
    for name, movers in (("closed_by", hole.closed_by), ("opened_by", hole.opened_by)):
        if movers:
            yield f"{name} = [{', '.join(map(_mover, movers))}]"


def _mover(mover: Mover) -> str:
    if not mover.while_down and not mover.while_up:
        return _text(mover.key_id)
    conditions = "".join(
        f", {name} = {_texts(key_ids)}"
        for name, key_ids in (("while_down", mover.while_down), ("while_up", mover.while_up))
        if key_ids
    )
    return f"{{ key = {_text(mover.key_id)}{conditions} }}"


def _line(line: OrdinaryLine) -> Iterator[str]:
    yield f"note = {_text(line.note)}"
    yield f"text = {_text(line.text)}"
    yield f"choice = {line.choice}"
    if line.remark:
        yield f"remark = {_text(line.remark)}"
    if line.is_to_try:
        yield "to_try = true"


def _digit(digit: Digit) -> str:
    return f"{digit.hand} {digit.finger}"


def _text(value: str) -> str:
    # A JSON string is a TOML basic string (both escape alike); readers refuse control characters.
    return json.dumps(str(value), ensure_ascii=False)


def _texts(values: Iterable[str]) -> str:
    return f"[{', '.join(map(_text, values))}]"


def _numbers(values: Iterable[float]) -> str:
    return f"[{', '.join(map(_number, values))}]"


def _number(value: float) -> str:
    return str(int(value)) if float(value).is_integer() else repr(float(value))
