"""Entry of a fingering by touch, by keyboard, and without JavaScript: picture and form fields.

The truth is one form field for each key (`key-<id>`: up, down, shaded or vented). The picture shows
the same states; the script `static/js/keys.js` steps a key's field when its place in the picture is
touched and redraws the parts named here by `data-key` and `data-part`. What the script must know of
the layout stands in `EntryView.layout_json`, so that it knows no keywork of its own.
"""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass

from analysis.keywork import (
    Acts,
    Hand,
    Key,
    KeyStates,
    Layout,
    State,
    StateNotAllowed,
    explain_beyond,
    find_changes,
    find_conflicts,
    format_fingering,
    is_kept_from_thumb,
    short_name,
    shorten_changes,
    spell_out,
)
from analysis.pitch import NoteNames
from webapp.drawing.fingering import PARTLY, Mark, Sheet, describe_picture
from webapp.drawing.fingering_profiles import PENS, Profile
from webapp.drawing.fingering_shapes import INK, PAPER, lower_half, small_hole
from webapp.drawing.svg import element, render, svg_root

_PARTLY_WORDS = {
    State.SHADED: "shaded",
    State.VENTED: "vented: plate down, its small hole open",
}
_HOLE_WORDS = {State.UP: "open", State.DOWN: "closed", **_PARTLY_WORDS}
_KEY_WORDS = {State.UP: "up", State.DOWN: "down", **_PARTLY_WORDS}
_STATE_LETTERS = {State.UP: "u", State.DOWN: "d", State.SHADED: "s", State.VENTED: "v"}


@dataclass(frozen=True, slots=True)
class EntryChoice:
    """One state that can be chosen for a key."""

    value: str
    label: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class EntryKey:
    """One key of the form: a box to tick, or several states to choose from."""

    field_name: str
    field_id: str
    name: str
    choices: tuple[EntryChoice, ...]
    is_simple: bool
    is_down: bool


@dataclass(frozen=True, slots=True)
class EntryHand:
    """The keys of one hand."""

    legend: str
    entries: tuple[EntryKey, ...]


@dataclass(frozen=True, slots=True)
class EntryView:
    """Everything that the template of the key entry shows; `picture` is ready SVG."""

    id_prefix: str
    picture: str
    hands: tuple[EntryHand, ...]
    text: str
    spoken: str
    base_text: str | None
    changes: str | None
    conflicts: tuple[str, ...]
    # what the button for the state between open and held says; None where no key has one
    partly: str | None
    layout_json: str


def entry_view(
    layout: Layout,
    fingering: KeyStates,
    base: KeyStates | None = None,
    *,
    names: NoteNames = NoteNames.ENGLISH,
    id_prefix: str = "keys",
) -> EntryView:
    """Prepare the entry of a fingering on a layout, marked against a base if there is one."""
    return EntryView(
        id_prefix=id_prefix,
        picture=_draw_entry(fingering, base, names=names, id_prefix=id_prefix),
        hands=tuple(_hand(layout, hand, fingering, id_prefix) for hand in Hand),
        text=format_fingering(fingering),
        spoken=spell_out(fingering),
        base_text=format_fingering(base) if base else None,
        changes=shorten_changes(find_changes(base, fingering)) if base else None,
        conflicts=tuple(conflict.reason for conflict in find_conflicts(fingering)),
        partly=_name_partly(layout),
        layout_json=_layout_json(layout, base),
    )


def read_states(layout: Layout, form: Mapping[str, str]) -> KeyStates:
    """Read the posted states of all keys; a key that was not posted is up.

    Raises `StateNotAllowed` for a state that a key does not have.
    """
    states: dict[str, State] = {}
    for key in layout.keys:
        posted = form.get(field_name(key), State.UP)
        if posted not in key.states:
            raise StateNotAllowed(key.name, posted, key.states)
        states[key.id] = State(posted)
    return KeyStates.of(layout, states)


def field_name(key: Key) -> str:
    """Find the name of a key's form field."""
    return f"key-{key.id}"


def _name_partly(layout: Layout) -> str | None:
    if layout.has_vented_plate:
        return "Vent"
    return "½ hole" if any(State.SHADED in key.states for key in layout.keys) else None


def _hand(layout: Layout, hand: Hand, fingering: KeyStates, id_prefix: str) -> EntryHand:
    entries = tuple(
        _entry(key, fingering.state(key.id), id_prefix) for key in layout.keys if key.hand is hand
    )
    return EntryHand(f"{hand.capitalize()} hand", entries)


def _entry(key: Key, state: State, id_prefix: str) -> EntryKey:
    words = _HOLE_WORDS if key.acts is Acts.HOLE else _KEY_WORDS
    return EntryKey(
        field_name=field_name(key),
        field_id=f"{id_prefix}-{key.id}",
        name=key.name,
        choices=tuple(EntryChoice(one, words[one], one is state) for one in key.states),
        is_simple=key.states == (State.UP, State.DOWN),
        is_down=state is State.DOWN,
    )


def state_letters(fingering: KeyStates) -> str:
    """Write the states of all keys in layout order, one letter each, as the script reads them."""
    return "".join(_STATE_LETTERS[state] for state in fingering.states)


def _layout_json(layout: Layout, base: KeyStates | None) -> str:
    known = {
        "keys": [_key_facts(layout, key) for key in layout.keys],
        "prefix": layout.text.prefix,
        "left": layout.text.left,
        "right": layout.text.right,
        "extras": [key.id for key in layout.extras],
        "thumb": layout.right_thumb.reason,
        "together": sorted(sorted(pair) for pair in layout.together),
        "base": state_letters(base) if base else None,
        "ink": INK,
        "paper": PAPER,
    }
    return json.dumps(known, ensure_ascii=False, separators=(",", ":"))


def _key_facts(layout: Layout, key: Key) -> dict[str, object]:
    return {
        "id": key.id,
        "name": key.name,
        "shortName": short_name(key),
        "spoken": key.spoken,
        "token": key.token,
        "hand": key.hand,
        "states": key.states,
        "acts": key.acts,
        "digits": [digit.name for digit in layout.reach(key) or key.digits],
        "beyond": None if layout.reach(key) else explain_beyond(layout, key),
        "isKeptFromThumb": is_kept_from_thumb(layout, key),
        "hasLabelInside": key.label_at is None,
    }


def _draw_entry(
    fingering: KeyStates, base: KeyStates | None, *, names: NoteNames, id_prefix: str
) -> str:
    """Draw every part that any state needs; what the present state does not need is not shown."""
    layout = fingering.layout
    sheet = Sheet(layout=layout, pen=PENS[Profile.ENTRY], is_mirrored=False, names=names)
    root = svg_root(
        layout.view_box,
        title="Picture of the keys",
        desc=describe_picture(fingering, base),
        id_prefix=f"{id_prefix}-picture",
        class_="fingering fingering-entry",
    )
    root.extend(sheet.guides())
    marks = [Mark(key, fingering.state(key.id), True, False) for key in layout.keys]
    changed = {change.key.id for change in find_changes(base, fingering)} if base else set()
    for part, draw in (("halo", sheet.halo), ("gap", sheet.halo_gap)):
        for mark in marks:
            root.extend(
                _part(one, mark.key, part, is_shown=mark.key.id in changed) for one in draw(mark)
            )
    for mark in marks:
        root.extend(_body_parts(sheet, mark))
    root.extend(_touch_target(key) for key in layout.keys)
    return render(root)


def _body_parts(sheet: Sheet, mark: Mark) -> list[ET.Element]:
    key, state = mark.key, mark.state
    up = Mark(key, State.UP, False, False)
    outline = next(sheet.body(up))
    outline.set("fill", INK if state in {State.DOWN, State.VENTED} else PAPER)
    parts = [_part(outline, key, "outline")]
    parts.extend(
        _part(one, key, "parting", is_shown=state is State.UP) for one in sheet.parting(up)
    )
    if State.SHADED in key.states:
        half = lower_half(sheet.outline(key), fill=INK, class_="ink")
        parts.append(_part(half, key, "half", is_shown=state is State.SHADED))
    if State.VENTED in key.states:
        vent = small_hole(sheet.outline(key), fill=PAPER, class_="paper")
        parts.append(_part(vent, key, "vent", is_shown=state is State.VENTED))
    is_inside = key.label_at is None
    for label in sheet.label(up):
        label.set("fill", PAPER if is_inside and state is State.DOWN else INK)
        is_shown = not (is_inside and state in PARTLY)
        parts.append(_part(label, key, "label", is_shown=is_shown))
    return parts


def _part(made: ET.Element, key: Key, part: str, *, is_shown: bool = True) -> ET.Element:
    made.set("data-key", key.id)
    made.set("data-part", part)
    if not is_shown:
        made.set("display", "none")
    return made


def _touch_target(key: Key) -> ET.Element:
    return element(
        "rect",
        x=key.hit.x,
        y=key.hit.y,
        width=key.hit.width,
        height=key.hit.height,
        fill="none",
        pointer_events="all",
        class_="touch",
        data_hit=key.id,
    )
