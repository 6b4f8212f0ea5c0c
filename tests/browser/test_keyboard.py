"""Without a mouse: everything on the log page is reached, seen and set by keys alone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

FOCUS_OUTLINE = """() => {
    const style = getComputedStyle(document.activeElement);
    return style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth);
}"""


def _tab_to(page: Page, selector: str) -> None:
    """Press Tab until a place has the focus; every stop on the way must be seen to have it."""
    ask = f"wanted => [({FOCUS_OUTLINE})(), document.activeElement.matches(wanted)]"
    for _ in range(80):
        page.keyboard.press("Tab")
        outline, is_there = page.evaluate(ask, selector)
        if outline < 2:  # drawn a moment later on a busy machine
            page.wait_for_function(f"({FOCUS_OUTLINE})() >= 2")
        if is_there:
            return
    pytest.fail(f"Tab never reached {selector}")


def _shift_tab_to(page: Page, selector: str) -> None:
    """Go back until a place has the focus."""
    for _ in range(80):
        page.keyboard.press("Shift+Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    pytest.fail(f"Shift and Tab never reached {selector}")


def _choose(page: Page, value: str) -> None:
    """Walk down a list with the arrow key."""
    for _ in range(120):
        if page.evaluate("document.activeElement.value") == value:
            return
        page.keyboard.press("ArrowDown")
    pytest.fail(f"{value} is not in the list")


def test_a_fingering_is_logged_without_a_mouse(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = visit(written_in, size=DESKTOP).open(f"/instruments/{rows.soprano}")
    with page.expect_navigation():
        _tab_to(page, "a[href$='/fingerings/new']")
        page.keyboard.press("Enter")

    _tab_to(page, "#target")
    page.keyboard.type("D quarter-flat 5")
    _tab_to(page, "#base")
    _choose(page, "ordinary:C#5:1")
    expect(page.locator("[data-keys-text]")).to_have_text("T R 123 | 123 | left F#")
    _tab_to(page, "[data-keys-list] summary")
    page.keyboard.press("Enter")
    _tab_to(page, "#keys-right-e")
    page.keyboard.press("Space")
    _tab_to(page, "details:has(#notes) > summary")
    page.keyboard.press("Enter")
    _tab_to(page, "[name=resistance]")
    page.keyboard.press("ArrowRight")
    _tab_to(page, "#notes")
    page.keyboard.type("Typed only.")
    _shift_tab_to(page, "[data-save]")
    with page.expect_navigation():
        page.keyboard.press("Enter")

    assert "The fingering is in the notebook." in page.locator(".notice").inner_text()
    expect(page.locator("h1")).to_have_accessible_name("D quarter-flat 5")
    facts = page.locator(".entry-page").text_content() or ""
    assert "adds right E key (closes)" in facts
    assert "raised from the lower neighbour" in facts
    assert "free, 1 of 5" in facts
    assert "Typed only." in facts


def test_enter_in_the_target_field_keeps_the_entry_and_its_keys(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = visit(written_in, size=DESKTOP).open(f"/instruments/{rows.soprano}/fingerings/new")
    page.select_option("#base", "ordinary:C#5:1")
    expect(page.locator("[data-keys-text]")).to_have_text("T R 123 | 123 | left F#")
    page.locator('[data-hit="l1"]').click()

    page.fill("#target", "G4 +50")
    with page.expect_navigation():
        page.press("#target", "Enter")

    assert "The fingering is in the notebook." in page.locator(".notice").inner_text()
    # The keys are those of the picture, not those of the base.
    assert page.locator(".entry-picture .keys-text").inner_text() == "T R -23 | 123 | left F#"


def test_ten_tabs_lead_from_the_first_key_pressed_to_save(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/instruments/{rows.soprano}/fingerings/new")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # past the head of the page
    tabs = 1
    while not page.evaluate("document.activeElement.matches('[data-save]')"):
        page.keyboard.press("Tab")
        tabs += 1
        assert tabs <= 10


def test_the_first_tab_leads_past_the_head_of_the_page(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, size=DESKTOP).open("/")

    _tab_to(page, ".skip")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")

    assert page.evaluate("document.activeElement.closest('main') !== null")
