"""The log page in one screen: every key and button in sight, and Record leads to a figure."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.played_microphone import play
from tests.browser.recording_takes import NOTES, PATIENCE_MS
from tests.browser.serving import Site
from tests.browser.test_access import SMALL_TARGETS, check_everywhere
from tests.browser.visiting import DESKTOP, PHONE, SMALL_PHONE, TABLET
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

# Keys whose middle is covered by something else, or out of sight.
COVERED_KEYS = """() => [...document.querySelectorAll("[data-hit]")].filter((key) => {
    const { x, y, width, height } = key.getBoundingClientRect();
    return document.elementFromPoint(x + width / 2, y + height / 2) !== key;
}).map((key) => key.dataset.hit)"""


def _open(visit: Visit, site: Site, rows: Filled, **options: object) -> Page:
    address = f"/instruments/{rows.soprano}/fingerings/new?target=C%235%2B25c&base=ordinary:C%235:1"
    return visit(site, **options).open(address)


@pytest.mark.parametrize("size", [PHONE, pytest.param(TABLET, marks=pytest.mark.long_run), DESKTOP])
def test_keys_and_buttons_lie_in_one_screen(
    visit: Visit, looked_at: Site, rows: Filled, size: dict[str, int]
) -> None:
    page = _open(visit, looked_at, rows, size=size)
    for name in ("Record", "Save", "½ hole", "Clear"):
        expect(page.get_by_role("button", name=name, exact=True)).to_be_in_viewport(ratio=1)
    assert page.evaluate(COVERED_KEYS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    if size["width"] > PHONE["width"]:
        assert page.evaluate("document.documentElement.scrollHeight") <= size["height"]
    assert page.evaluate(SMALL_TARGETS, 44) == []
    if size == PHONE:  # all sizes follow here
        assert check_everywhere(page) == {}


def test_save_stays_in_sight_on_the_smallest_phone(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open(visit, looked_at, rows, size=SMALL_PHONE)
    save = page.get_by_role("button", name="Save", exact=True)
    expect(save).to_be_in_viewport(ratio=1)
    page.get_by_text("A recording you have already").scroll_into_view_if_needed()
    expect(save).to_be_in_viewport(ratio=1)


def test_record_saves_listens_and_leads_to_the_entry_with_its_figure(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = _open(visit, written_in, rows, is_played_to=True, size=PHONE)
    page.get_by_role("button", name="Record", exact=True).tap()
    expect(page.locator("[data-record-state]")).to_have_text("Saved. Listening: hold the note.")
    play(page, NOTES[:1])
    page.wait_for_url(re.compile(r"/fingerings/\d+$"), timeout=PATIENCE_MS)
    expect(page.locator(".answer-number")).to_be_visible()
    assert page.locator(".entry-picture .keys-text").inner_text() == "T R 123 | 123 | left F#"
    page.go_back()
    expect(page.get_by_role("button", name="Bring it back")).to_have_count(0)


def test_a_refusal_is_shown_before_anything_has_sounded(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _open(visit, looked_at, rows, is_played_to=True, size=PHONE)
    page.fill("#target", "spoon")
    with page.expect_navigation():
        page.get_by_role("button", name="Record", exact=True).tap()
    expect(page.locator("[data-refused]")).to_be_focused()
    expect(page.locator("#target-error")).to_be_visible()
