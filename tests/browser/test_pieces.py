"""The way of a piece on a phone: from a file to what is still to do, and notes put in by touch."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import FilePayload, expect

from tests.analysis.notation.scores import bar, note, score
from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import PHONE

pytestmark = pytest.mark.browser

FILE: FilePayload = {
    "name": "evening.musicxml",
    "mimeType": "application/xml",
    "buffer": score(bar(note("D5", "natural-up"), note("E5"), number="7")),
}


def test_from_a_file_over_its_question_to_what_is_still_to_do(
    visit: Visit, written_in: Site
) -> None:
    page = visit(written_in, size=PHONE).open("/pieces/")
    page.get_by_role("link", name="Add a piece").tap()
    page.get_by_role("checkbox", name="Invented bass").uncheck()
    page.get_by_role("checkbox", name="Invented B-flat").check()
    page.get_by_label("Score file", exact=True).set_input_files(FILE)
    page.get_by_role("button", name="Add the piece").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("evening")
    page.get_by_role("link", name="Answer", exact=True).tap()
    hear = page.get_by_role("button", name=re.compile("Hear it ?: a sixth of a tone"))
    hear.tap()
    expect(hear).to_have_attribute("aria-pressed", "true")
    page.get_by_role("radio", name="33.3 cents").check()
    page.get_by_role("button", name="Answer").tap()
    expect(page.get_by_text("Still open: bar 7.")).to_be_visible()
    row = page.locator(".todo-row")
    row.get_by_text("Settle it with a word").tap()
    row.get_by_label("How").select_option("ask")
    row.get_by_role("button", name="Settle").tap()
    expect(page.get_by_text("Nothing is open.")).to_be_visible()


def test_notes_are_put_in_by_touch(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at, size=PHONE).open("/pieces/new")
    page.get_by_text("Typed from paper").tap()
    page.get_by_text("Choose it on the staff").tap()
    add = page.get_by_role("button", name="Put it in the bar")
    add.tap()
    page.get_by_role("button", name="eighth note", exact=True).tap()
    page.get_by_role("button", name="Slur to it").tap()
    page.get_by_role("button", name="Up", exact=True).tap()
    add.tap()
    page.get_by_role("button", name="Repeat the bar").tap()
    text = page.get_by_label("Notes, bar by bar").input_value()
    first, again = text.strip().splitlines()
    assert first.count("~") == 1
    assert first.endswith("(1/8)")
    assert again == "%"
