"""Changing a layout on which fingerings are logged.

Truth: what is logged must read as the same keys by id before and after (identity), whatever the
layout calls them.
"""

from dataclasses import replace
from typing import Any

import pytest

from analysis.keywork import (
    hole_signature,
    load_layout,
    parse_fingering,
    read_layout,
    write_layout,
)
from tests.webapp.logging_rows import ENGLISH, add_clarinet, draft, log
from tests.webapp.notebook.instruments.test_layouts import add_own
from webapp.notebook.fingerings.fingerings import log_fingering, open_fingering
from webapp.notebook.instruments.instrument_keys import change_keys
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.instruments.layout_changes import change_layout
from webapp.notebook.instruments.layouts import open_own_layout
from webapp.notebook.safekeeping.bin import put_in_bin
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, StaleEdit
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering


@pytest.fixture
def layout_id(notebook: Notebook) -> str:
    return add_own(notebook)


@pytest.fixture
def instrument_id(notebook: Notebook, layout_id: str) -> int:
    return add_clarinet(notebook, "Mine", layout_id=layout_id)


def text_of(notebook: Notebook, layout_id: str) -> str:
    own = open_own_layout(notebook, layout_id).own
    assert own is not None
    return own.toml


def rework(notebook: Notebook, layout_id: str, *swaps: tuple[str, str], seen: int = 1) -> int:
    """Change the text of a layout in places that must be there."""
    text = text_of(notebook, layout_id)
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    return change_layout(notebook, layout_id, text, seen_version=seen)


def pressed(notebook: Notebook, fingering_id: int) -> list[str]:
    return [key.id for key in row(notebook, fingering_id).key_states().pressed]


def row(notebook: Notebook, fingering_id: int) -> Fingering:
    return open_fingering(notebook, fingering_id).fingering


def keep(notebook: Notebook, instrument_id: int, keys: str, **changes: Any) -> int:
    layout = open_instrument(notebook, instrument_id).layout
    wanted = draft(**changes)
    wanted = replace(wanted, keys=parse_fingering(keys, layout))
    return log_fingering(notebook, instrument_id, wanted, names=ENGLISH)


def test_an_unchanged_text_makes_no_new_version(notebook: Notebook, layout_id: str) -> None:
    assert rework(notebook, layout_id) == 1
    # a version typed by hand means nothing: it is counted
    assert rework(notebook, layout_id, ("version = 1", "version = 77")) == 1


def test_a_change_counts_the_version_up(
    notebook: Notebook, layout_id: str, instrument_id: int
) -> None:
    assert rework(notebook, layout_id, ('name = "My ', 'name = "Our ')) == 2
    assert open_own_layout(notebook, layout_id).layout.version == 2
    assert open_instrument(notebook, instrument_id).layout_version == 2
    assert open_instrument(notebook, instrument_id).layout.name.startswith("Our ")


def test_renamed_tokens_carry_what_is_logged_over(
    notebook: Notebook, layout_id: str, instrument_id: int
) -> None:
    base = keep(notebook, instrument_id, "T R 123 | 123 | left F#")
    child = keep(notebook, instrument_id, "T R 1-- | --- | right cross", base=f"logged:{base}")
    before = pressed(notebook, base), pressed(notebook, child)
    rework(
        notebook,
        layout_id,
        ('token = "left F#"', 'token = "LFS"'),
        ('left F#"', 'LFS"'),
        ('token = "T"', 'token = "D"'),
        ('"T R ', '"D R '),
        ('"T ', '"D '),
    )
    assert row(notebook, base).keys_text == "D R 123 | 123 | LFS"
    assert row(notebook, child).base_keys_text == "D R 123 | 123 | LFS"
    assert (pressed(notebook, base), pressed(notebook, child)) == before
    fingering = row(notebook, base)
    assert fingering.hole_signature == hole_signature(fingering.key_states())
    assert f"{layout_id}@2:" in str(fingering.hole_signature)


def drop_key(notebook: Notebook, layout_id: str, key_id: str) -> str:
    """Write the layout without a key, by the way a file that extends another one has."""
    own = read_layout(text_of(notebook, layout_id))
    notes = sorted(
        {
            line.note
            for line in own.complete.ordinary
            if own.complete.key(key_id).token in line.text.split(" | ")[-1].split(", ")
        }
    )
    return (
        f'id = "{layout_id}"\nextends = "soprano-17-6"\nversion = 1\nname = "Fewer keys"\n'
        f'provenance = "invented"\nkinds = ["b-flat-soprano"]\n'
        f'[remove]\nkeys = ["{key_id}"]\nfingerings = {notes}\n'.replace("'", '"')
    )


def test_a_key_that_is_not_in_use_can_go(
    notebook: Notebook, layout_id: str, instrument_id: int
) -> None:
    fingering = keep(notebook, instrument_id, "T R 123 | 123 | left F#")
    text = drop_key(notebook, layout_id, "side-4")
    assert change_layout(notebook, layout_id, text, seen_version=1) == 2
    assert not open_instrument(notebook, instrument_id).layout.has_key("side-4")
    assert row(notebook, fingering).keys_text == "T R 123 | 123 | left F#"


@pytest.mark.parametrize("role", ["pressed", "in the bin", "base"])
def test_a_key_in_use_cannot_go(
    notebook: Notebook, layout_id: str, instrument_id: int, role: str
) -> None:
    fingering = keep(notebook, instrument_id, "T R 123 | -23 | side 4")
    if role == "base":
        child = keep(notebook, instrument_id, "T R 123 | 123", base=f"logged:{fingering}")
        assert row(notebook, child).base_keys_text
    if role == "in the bin":
        put_in_bin(notebook, "fingering", fingering)
    before = text_of(notebook, layout_id)
    with pytest.raises(FieldRefused, match=r"no key 'side-4'.*D quarter-flat 5.*new layout"):
        change_layout(notebook, layout_id, drop_key(notebook, layout_id, "side-4"), seen_version=1)
    assert text_of(notebook, layout_id) == before


def test_a_state_in_use_cannot_go(notebook: Notebook, layout_id: str, instrument_id: int) -> None:
    keep(notebook, instrument_id, "T R (1)23 | 123")
    with pytest.raises(FieldRefused, match=r"left first finger can't be shaded"):
        rework(
            notebook, layout_id, ('states = ["up", "down", "shaded"]', 'states = ["up", "down"]')
        )


def test_the_kind_of_an_instrument_must_stay_served(
    notebook: Notebook, layout_id: str, instrument_id: int
) -> None:
    with pytest.raises(FieldRefused, match=r"“Mine” has this layout.*b-flat-soprano"):
        rework(notebook, layout_id, ('"b-flat-soprano", ', ""))
    assert open_instrument(notebook, instrument_id).layout_version == 1


def test_what_an_instrument_switched_off_must_stay_optional(
    notebook: Notebook, layout_id: str, instrument_id: int
) -> None:
    change_keys(
        notebook, instrument_id, without=frozenset(), names={"left-ab": "lever"}, seen_version=1
    )
    assert open_instrument(notebook, instrument_id).layout.key("left-ab").name == "lever"
    with pytest.raises(FieldRefused, match="“Mine” switches off or renames"):
        change_layout(notebook, layout_id, drop_key(notebook, layout_id, "left-ab"), seen_version=1)


def test_another_id_and_a_stale_text_are_refused(notebook: Notebook, layout_id: str) -> None:
    with pytest.raises(FieldRefused, match="for good"):
        rework(notebook, layout_id, (f'id = "{layout_id}"', 'id = "other"'))
    rework(notebook, layout_id, ('name = "My ', 'name = "Our '))
    with pytest.raises(StaleEdit):
        rework(notebook, layout_id, ('name = "Our ', 'name = "Their '), seen=1)


def test_a_shipped_layout_cannot_be_changed(notebook: Notebook) -> None:
    with pytest.raises(NotInNotebook):
        change_layout(
            notebook, "soprano-17-6", write_layout(load_layout("soprano-17-6")), seen_version=1
        )


def test_other_instruments_are_not_touched(notebook: Notebook, layout_id: str) -> None:
    shipped = add_clarinet(notebook, "Shipped")
    fingering = log(notebook, shipped, "C#5 +25", "T R 123 | 123 | left F#")
    rework(notebook, layout_id, ('token = "left F#"', 'token = "LFS"'), ('left F#"', 'LFS"'))
    assert row(notebook, fingering).keys_text == "T R 123 | 123 | left F#"
