"""Own pages on a tablet: a touch marks a note, a mark is dragged, a pedal turns the page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from playwright.sync_api import FilePayload, Page, expect

from tests.analysis.paper.papers import A4_POINTS, pdf
from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.test_access import VIEWS_THINNED, View, check_everywhere
from tests.browser.visiting import TABLET

pytestmark = pytest.mark.browser

FILE: FilePayload = {
    "name": "Lit window.pdf",
    "mimeType": "application/pdf",
    "buffer": pdf(A4_POINTS, A4_POINTS),
}


def place_on_screen(page: Page, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Where a place of the page lies on the screen."""
    box = page.locator(".own-page").bounding_box()
    assert box is not None
    return box["x"] + x_mm / 210 * box["width"], box["y"] + y_mm / 297 * box["height"]


def place_of_mark(page: Page) -> list[float]:
    mark = page.locator("[data-mark]")
    return [float(mark.get_attribute(name) or "nan") for name in ("data-x", "data-y")]


@VIEWS_THINNED
def test_a_touch_marks_a_note_that_can_be_dragged_and_a_pedal_turns_the_page(
    visit: Visit, written_in: Site, folder: Path, views: Sequence[View]
) -> None:
    assert folder
    page = visit(written_in, size=TABLET).open("/pieces/new")
    page.get_by_role("checkbox", name="Invented bass").uncheck()
    page.get_by_role("checkbox", name="Invented B-flat").check()
    page.get_by_label("PDF, or photos of the part").set_input_files(FILE)
    page.get_by_role("button", name="Add the piece").click()
    page.locator(".own-page").scroll_into_view_if_needed()
    page.mouse.click(*place_on_screen(page, 60, 40))
    expect(page.get_by_label("Note", exact=True).first).to_be_focused()
    page.keyboard.type("D5 -50")
    page.get_by_label("Bar", exact=True).first.fill("12")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_text("Bar 12, D quarter-flat 5")).to_be_visible()
    # the foot of the drawing stands a little above the note that was touched
    assert place_of_mark(page) == [pytest.approx(60, abs=0.6), pytest.approx(37, abs=0.6)]

    page.locator(".own-page").scroll_into_view_if_needed()
    page.mouse.move(*place_on_screen(page, 60, 32))
    page.mouse.down()
    page.mouse.move(*place_on_screen(page, 80, 52), steps=4)
    page.mouse.up()
    expect(page.locator("[name$=x_mm]").nth(1)).to_have_value(re.compile("^(79|80)"))
    page.reload()
    assert place_of_mark(page) == [pytest.approx(80, abs=0.9), pytest.approx(57, abs=0.9)]
    assert check_everywhere(page, views) == {}

    expect(page.get_by_text("Touch the page where the note is.")).to_be_visible()
    page.keyboard.press("PageDown")
    expect(page.get_by_text("Page 2 of 2")).to_be_visible()
    expect(page.get_by_text("Touch the page where the note is.")).to_be_visible()  # by the script
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("Page 1 of 2")).to_be_visible()
