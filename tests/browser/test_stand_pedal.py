"""The stand by a pedal with two buttons, or by the same keys: pressed they go on, held they mark.

A pedal is a keyboard to the browser: what it sends while it is held repeats (UI Events, "Keyboard
Event Order"). Playwright sends a repeating key for every `down` without an `up`.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.standing import begin, heading, to_the_stand
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import listed
from webapp.notebook.opening import open_notebook

pytestmark = pytest.mark.browser

FIRST_NAME, SECOND_NAME = "D quarter-flat 5", "C sharp 5, 25 cents higher"


def states(folder: Path, practice: int) -> list[str]:
    with closing(open_notebook(folder)) as notebook:
        return [row.state for row in listed(notebook, practice)]


def hold(page: Page, key: str) -> None:
    """Hold a key until the stand has done what it asks for, while it repeats."""
    page.keyboard.down(key)
    page.keyboard.down(key)


@pytest.mark.parametrize(
    ("key", "state"),
    [
        ("PageDown", "done"),
        pytest.param("ArrowRight", "done", marks=pytest.mark.long_run),
        pytest.param("ArrowDown", "done", marks=pytest.mark.long_run),
        pytest.param("PageUp", "skipped", marks=pytest.mark.long_run),
        pytest.param("ArrowLeft", "skipped", marks=pytest.mark.long_run),
        ("ArrowUp", "skipped"),
    ],
)
def test_a_held_pedal_marks_the_note_that_is_shown_and_goes_on_by_one(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, key: str, state: str
) -> None:
    practice = begin(folder, rows, "D5 -50, C#5 +25, A5 +50")
    page = to_the_stand(visit(written_in, is_suggested_to=False, size=DESKTOP), practice)
    button = page.locator(f".stand-item:not([hidden]) [data-settle-to={state}]")
    hold(page, key)
    expect(button).to_have_attribute("data-held", "")
    expect(heading(page)).to_have_accessible_name(SECOND_NAME)
    page.keyboard.down(key)  # it is held still
    page.keyboard.up(key)
    expect(page.locator("[data-said]")).to_contain_text("Note 2 of 3")
    expect(page.locator("[data-held]")).to_have_count(0)
    assert states(folder, practice) == [state, "open", "open"]
    page.keyboard.press("PageUp")
    expect(heading(page)).to_have_accessible_name(FIRST_NAME)
    expect(page.locator(".stand-item:not([hidden]) [data-state-words]")).to_have_text(state)


def test_a_pedal_pressed_or_left_marks_nothing_and_what_is_marked_already_only_goes_on(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = to_the_stand(visit(written_in, is_suggested_to=False, size=DESKTOP), practice)
    page.keyboard.press("PageDown")
    expect(heading(page)).to_have_accessible_name(SECOND_NAME)
    page.keyboard.press("PageUp")
    expect(heading(page)).to_have_accessible_name(FIRST_NAME)
    assert states(folder, practice) == ["open", "open"]
    # nor does a key that is held while the window loses the focus
    page.keyboard.down("PageDown")
    page.evaluate("window.dispatchEvent(new Event('blur'))")
    page.keyboard.up("PageDown")
    page.keyboard.press("ArrowUp")  # said last, so nothing came before it
    expect(page.locator("[data-said]")).to_have_text("There is no other fingering that way.")
    expect(heading(page)).to_have_accessible_name(FIRST_NAME)
    assert states(folder, practice) == ["open", "open"]
    hold(page, "PageDown")
    expect(heading(page)).to_have_accessible_name(SECOND_NAME)
    page.keyboard.up("PageDown")
    page.keyboard.press("PageUp")
    page.keyboard.down("PageDown")  # done already: there is nothing to wait for
    expect(heading(page)).to_have_accessible_name(SECOND_NAME)
    page.keyboard.up("PageDown")
    assert states(folder, practice) == ["done", "open"]


def test_the_page_says_what_holding_does_where_it_does_something(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    visitor = visit(written_in, is_suggested_to=False, size=DESKTOP)
    page = to_the_stand(visitor, begin(folder, rows))
    hint = page.locator(".stand-hold")
    expect(hint).to_be_hidden()  # a phone has no keys
    page.keyboard.press("ArrowDown")
    expect(hint).to_contain_text(
        "Hold Page Down, → or ↓ on the pedal or keyboard for a second: done"
    )
    alone = visitor.open(f"/instruments/{rows.soprano}/stand?q=D5+-50")
    expect(alone.locator(".stand.is-live")).to_be_visible()
    expect(alone.locator(".stand-hold")).to_have_count(0)
    alone.keyboard.down("ArrowDown")  # nothing to mark, so the step needs no letting go
    expect(alone.locator("[data-said]")).to_contain_text("Fingering 2")
    alone.keyboard.up("ArrowDown")
