"""The page of a fingering and home: as long as they may be, few controls, parts as tabs."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP, PHONE
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

LONGEST_PX = 1900
LONGEST_HOME_PX = 1700
MOST_CONTROLS = 20

COUNT_CONTROLS = """() => [...document.querySelectorAll(
    "main :is(a[href], button, input:not([type=hidden]), select, textarea, summary, audio)"
)].filter((each) => each.checkVisibility({visibilityProperty: true})
    && !each.closest(".visually-hidden")).length"""


def height_of(page: Page) -> int:
    """How long the page is, in CSS pixels."""
    return int(page.evaluate("document.documentElement.scrollHeight"))


def test_an_entry_is_two_screens_with_few_controls_and_tabs(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=PHONE).open(f"/fingerings/{rows.base}")
    expect(page.get_by_role("tab")).to_have_text(["Takes", "Sound", "Family", "Notes"])
    assert height_of(page) < LONGEST_PX
    assert page.evaluate(COUNT_CONTROLS) < MOST_CONTROLS
    for name in ("Record", "Stand", "More"):
        expect(page.locator(".action-bar").get_by_text(name, exact=True)).to_be_in_viewport()

    takes = page.get_by_role("tab", name="Takes")
    takes.focus()
    page.keyboard.press("ArrowLeft")  # the last comes before the first
    expect(page.get_by_role("tab", name="Notes")).to_be_focused()
    expect(page.get_by_role("tabpanel")).to_have_id("notes")
    page.keyboard.press("Home")
    expect(page.get_by_role("tabpanel")).to_have_id("takes")
    page.get_by_role("tab", name="Family").tap()
    expect(page.get_by_role("link", name="Compare")).to_be_visible()
    assert height_of(page) < LONGEST_PX


def test_on_a_wide_screen_an_entry_with_two_takes_is_one_screen(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/fingerings/{rows.base}")
    assert page.locator("#takes tbody td > a").count() == 2
    assert height_of(page) <= DESKTOP["height"]


def test_on_paper_an_entry_with_two_takes_and_the_notes_of_the_player_is_one_sheet(
    visit: Visit, looked_at: Site, rows: Filled, tmp_path: Path
) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/fingerings/{rows.base}")
    page.pdf(path=tmp_path / "entry.pdf", format="A4")
    with PdfReader(tmp_path / "entry.pdf") as reader:
        assert len(reader.pages) == 1
        text = reader.pages[0].extract_text()
    for words in ("+10.0", "T R 123", "First of its line.", "noise but no tone"):
        assert words in text


def test_home_is_two_screens_of_a_phone_and_one_of_a_desk(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    for size, longest_px in ((PHONE, LONGEST_HOME_PX), (DESKTOP, DESKTOP["height"])):
        page = visit(looked_at, size=size).open(f"/?instrument={rows.soprano}")
        assert height_of(page) <= longest_px
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_an_address_with_an_anchor_shows_its_tab(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/fingerings/{rows.base}#attach")
    expect(page.get_by_role("tab", selected=True)).to_have_text("Takes")
    page.goto(f"{looked_at.origin}/fingerings/{rows.base}#colour")
    expect(page.get_by_role("tab", selected=True)).to_have_text("Sound")


def test_without_scripts_the_tabs_are_links_to_what_stands_below(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    visitor = visit(looked_at, size=PHONE, has_scripts=False)
    page = visitor.open(f"/fingerings/{rows.base}")
    for name in ("takes", "sound", "family", "notes"):
        expect(page.locator(f"#{name}")).to_be_visible()
    page.get_by_role("link", name="Notes", exact=True).last.click()
    expect(page.get_by_role("link", name="Change")).to_be_visible()
