"""Suggestions on a phone: rows that are read at a glance, and why behind a touch."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.places import PLACES
from tests.browser.serving import Site
from tests.browser.visiting import PHONE
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def test_five_suggestions_end_within_1000_px_and_say_why_when_touched(
    looked_at: Site, visit: Visit, rows: Filled
) -> None:
    page = PLACES["suggestions"](visit(looked_at, size=PHONE), rows)
    suggested = page.locator("details.suggestion")
    expect(suggested).to_have_count(5)
    end = suggested.last.bounding_box()
    assert end is not None
    assert end["y"] + end["height"] < 1000
    heights = suggested.evaluate_all("all => all.map((one) => one.offsetHeight)")
    assert max(heights) <= 124
    expect(page.get_by_role("link", name="Play these at the stand")).to_be_in_viewport()
    suggested.first.locator("summary").first.click()
    expect(suggested.first.get_by_role("button", name="Put on the try list")).to_be_visible()
