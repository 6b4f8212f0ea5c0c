"""Light and dark paper: as the system has it, or as the player prefers; drawings follow it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def _paper(page: Page, selector: str = "body") -> str:
    found: str = page.locator(selector).first.evaluate(
        "place => getComputedStyle(place).backgroundColor"
    )
    return found


def _is_dark(colour: str) -> bool:
    return max(int(part) for part in colour.removeprefix("rgb(").rstrip(")").split(",")) < 64


def _prefer(page: Page, theme: str) -> None:
    page.get_by_label("Light or dark").select_option(theme)
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()


def test_dark_paper_is_kept_as_a_preference_and_drawings_are_light_ink_on_it(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    visitor = visit(written_in, size=DESKTOP)
    page = visitor.open("/preferences")
    assert not _is_dark(_paper(page))

    _prefer(page, "dark")

    assert page.locator("html").get_attribute("data-theme") == "dark"
    entry = visitor.open(f"/fingerings/{rows.base}")
    assert _is_dark(_paper(entry))
    held, open_ = (entry.locator(f".entry-drawing svg .{kind}").first for kind in ("ink", "paper"))
    assert not _is_dark(held.evaluate("one => getComputedStyle(one).fill"))
    assert open_.evaluate("one => getComputedStyle(one).fill") == _paper(entry)
    log = visitor.open(f"/instruments/{rows.soprano}/fingerings/new")
    assert _is_dark(_paper(log))
    lines = log.locator(".keys-picture [data-part=outline]").first
    assert not _is_dark(lines.evaluate("one => getComputedStyle(one).stroke"))


def test_light_paper_stays_light_where_the_system_is_dark(visit: Visit, written_in: Site) -> None:
    page = visit(written_in, size=DESKTOP, scheme="dark").open("/preferences")
    assert _is_dark(_paper(page))

    _prefer(page, "light")

    assert not _is_dark(_paper(page))
