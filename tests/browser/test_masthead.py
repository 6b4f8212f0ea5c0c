"""The head of every page in a browser: entries at the foot of a phone, what unfolds, keys."""

from collections.abc import Sequence

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.test_access import VIEWS, View, check_everywhere
from tests.browser.visiting import DESKTOP, PHONE, SMALL_PHONE
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def place_of(page: Page, selector: str) -> dict[str, float]:
    """Where an element lies in the window."""
    found: dict[str, float] = page.locator(selector).evaluate(
        "one => one.getBoundingClientRect().toJSON()"
    )
    return found


@pytest.mark.parametrize("size", [PHONE, SMALL_PHONE])
def test_on_a_phone_the_entries_lie_at_the_foot_and_hide_nothing(
    visit: Visit, looked_at: Site, size: dict[str, int]
) -> None:
    page = visit(looked_at, size=size).open("/")
    foot = place_of(page, ".entries")
    assert (foot["bottom"], foot["height"]) == (size["height"], 56)
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    assert place_of(page, ".colophon")["bottom"] < size["height"] - 55


def test_on_a_desktop_they_lie_in_the_head(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, size=DESKTOP).open("/")
    assert place_of(page, ".entries")["bottom"] <= place_of(page, ".masthead")["bottom"] + 1


def test_while_a_fingering_is_drawn_or_played_the_foot_is_free(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    visitor = visit(looked_at)
    for path in (
        f"/instruments/{rows.soprano}/fingerings/new",
        f"/fingerings/{rows.base}/stand",
    ):
        expect(visitor.open(path).locator(".entries")).to_be_hidden()


@pytest.mark.parametrize(  # every day one view of each, by turns
    ("button", "unfolded", "views"),
    [
        ("button.menu", "#menu", VIEWS[:1]),
        ("button.in-use", "#instruments", VIEWS[1:]),
        pytest.param("button.menu", "#menu", VIEWS, marks=pytest.mark.long_run),
        pytest.param("button.in-use", "#instruments", VIEWS, marks=pytest.mark.long_run),
    ],
)
def test_what_unfolds_goes_by_keys_and_is_read_by_everyone(
    visit: Visit, looked_at: Site, button: str, unfolded: str, views: Sequence[View]
) -> None:
    page = visit(looked_at).open("/")
    expect(page.locator(unfolded)).to_be_hidden()
    page.locator(button).focus()
    page.keyboard.press("Enter")
    expect(page.locator(unfolded)).to_be_visible()
    page.keyboard.press("Tab")
    assert page.evaluate(f"document.activeElement.closest('{unfolded}') !== null")
    place = place_of(page, unfolded)
    assert place["left"] >= 0 and place["right"] <= PHONE["width"]
    assert check_everywhere(page, views) == {}
    page.keyboard.press("Escape")
    expect(page.locator(unfolded)).to_be_hidden()
    assert page.evaluate(f"document.activeElement.matches('{button}')")
