"""The key entry: fields are the truth, the picture shows them, and posted states are checked."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import jinja2
import pytest
from hypothesis import given, settings

from analysis.keywork import (
    KeyStates,
    State,
    StateNotAllowed,
    load_layout,
    parse_fingering,
)
from tests.analysis.keywork.strategies import any_fingering
from webapp import drawing
from webapp.drawing.fingering_entry import EntryView, entry_view, field_name, read_states
from webapp.presenting.text_direction import isolate

SOPRANO = load_layout("soprano-17-6")
TEMPLATES = Path(drawing.__file__).parents[1] / "templates"


def _view(text: str, base: str | None = None) -> EntryView:
    fingering = parse_fingering(text, SOPRANO)
    return entry_view(SOPRANO, fingering, parse_fingering(base, SOPRANO) if base else None)


def _html(view: EntryView) -> str:
    loader = jinja2.FileSystemLoader(TEMPLATES)
    environment = jinja2.Environment(loader=loader, autoescape=True)
    environment.filters["isolate"] = isolate
    template = environment.get_template("fingering/_keys.html")
    return str(template.make_module().keys_entry(view))  # type: ignore[attr-defined]  # a macro


def _posted(view: EntryView) -> dict[str, str]:
    """Find what a browser would post: ticked boxes and chosen radio buttons."""
    posted = {}
    for hand in view.hands:
        for entry in hand.entries:
            chosen = [choice.value for choice in entry.choices if choice.is_chosen]
            if not entry.is_simple or entry.is_down:
                posted[entry.field_name] = chosen[0]
    return posted


@given(any_fingering)
@settings(deadline=None, max_examples=40)
def test_what_is_shown_posts_back_as_the_same_fingering(fingering: KeyStates) -> None:
    view = entry_view(fingering.layout, fingering)

    assert read_states(fingering.layout, _posted(view)) == fingering


def test_keys_that_were_not_posted_are_up() -> None:
    assert read_states(SOPRANO, {}) == KeyStates.of(SOPRANO, {})


@pytest.mark.parametrize("state", ["half", "", "<script>", "DOWN"])
def test_a_state_that_no_key_has_is_refused(state: str) -> None:
    with pytest.raises(StateNotAllowed, match="The left first finger can't be"):
        read_states(SOPRANO, {"key-l1": state})


def test_a_state_that_this_key_lacks_is_refused() -> None:
    with pytest.raises(StateNotAllowed, match="right E key can't be shaded; it can be up or down"):
        read_states(SOPRANO, {"key-right-e": "shaded"})


def test_the_view_says_text_words_changes_and_conflicts() -> None:
    view = _view("T R 1-- | --- | throat A", "T R 1-- | ---")

    assert view.text == "T R 1-- | --- | throat A"
    assert view.spoken == "thumb and register; left 1, throat A key"
    assert view.base_text == "T R 1-- | ---"
    assert view.changes == "+ throat A"
    assert view.conflicts == ("The left first finger can't hold its hole and the throat A key.",)


def test_without_a_base_nothing_is_said_to_have_changed() -> None:
    view = _view("T R 1-- | ---")

    assert (view.base_text, view.changes) == (None, None)
    assert "keys-changes" not in _html(view)


def test_the_picture_has_a_touch_target_for_every_key_and_shows_only_the_present_state() -> None:
    svg = ET.fromstring(_view("T R (1)-- | ---", "T R 1-- | ---").picture)
    shown = {
        (one.get("data-key"), one.get("data-part"))
        for one in svg.iter()
        if one.get("data-part") and one.get("display") != "none"
    }

    assert [one.get("data-hit") for one in svg.iter() if one.get("data-hit")] == [
        key.id for key in SOPRANO.keys
    ]
    assert {part for key, part in shown if key == "l1"} == {"halo", "gap", "outline", "half"}
    assert {part for key, part in shown if key == "l2"} == {"outline", "label"}


def test_the_script_gets_the_layout_and_the_base_as_values() -> None:
    known = json.loads(_view("T --- | ---", "--- | ---").layout_json)

    assert known["base"] == "u" * len(SOPRANO.keys)
    assert [key["id"] for key in known["keys"]] == [key.id for key in SOPRANO.keys]
    assert ["side-3", "side-4"] in known["together"]


def test_the_form_works_without_script_and_names_every_key() -> None:
    html = _html(_view("T R (1)-- | --- | right E"))

    for key in SOPRANO.keys:
        assert f'name="{field_name(key)}"' in html
    assert 'name="key-l1" value="shaded" checked' in html
    assert 'name="key-right-e" value="down" checked' in html
    assert 'name="key-left-e" value="down">' in html
    assert "style=" not in html
    assert "<script" not in html
    assert State.UP in html
