"""The loop: from home to a measured fingering for an open note, on a phone, in four touches."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from sqlalchemy import select

from tests.browser.conftest import Visit
from tests.browser.played_microphone import play
from tests.browser.recording_takes import NOTES, PATIENCE_MS
from tests.browser.serving import Site, serve_folder
from tests.browser.test_access import SMALL_TARGETS, check_everywhere
from tests.browser.visiting import DESKTOP, PHONE
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.rows import Fingering

pytestmark = pytest.mark.browser

COMPUTED_MS = 180_000
COUNT_TOUCHES = """() => {
    const count = () =>
        sessionStorage.setItem("touches", 1 + Number(sessionStorage.getItem("touches")));
    document.addEventListener("pointerdown", count, { capture: true });
}"""


def count_touches(page: Page) -> int:
    """How often the page was touched since it was opened, whatever addresses it went through."""
    return int(page.evaluate("Number(sessionStorage.getItem('touches'))"))


def test_four_touches_lead_from_home_to_a_measured_fingering(visit: Visit, tmp_path: Path) -> None:
    folder = tmp_path / "own"
    with closing(open_notebook(folder)) as notebook:
        add_clarinet(notebook)
    with serve_folder(folder) as site:
        visitor = visit(site, is_played_to=True, size=PHONE)
        visitor.add_script(f"({COUNT_TOUCHES})()")
        page = visitor.open("/")
        page.get_by_label("Which note?").tap()
        page.get_by_label("Which note?").fill("C sharp 5 + 25")
        page.get_by_role("button", name="Find").tap()
        first = page.locator("[data-played]").first
        expect(first).to_be_checked(timeout=COMPUTED_MS)  # worked out meanwhile
        page.get_by_role("button", name="Record").tap()
        play(page, NOTES[:1])
        take = page.locator("[data-take].is-measured").first
        expect(take).to_contain_text("cents", timeout=PATIENCE_MS)
        assert count_touches(page) <= 4
        assert page.url.endswith("/notes/C%235+25c")  # two pages, and no reload
        page.get_by_role("button", name="Stop", exact=True).tap()
        page.get_by_role("link", name="Show the new numbers").tap()
        expect(page.locator("#known")).to_have_text("What you have")
        visitor.context.close()
    with closing(open_notebook(folder)) as notebook, notebook.database.reading() as session:
        (row,) = session.scalars(select(Fingering)).all()
    assert row.target_text == "C#5+25c"
    assert row.strategy != "found"
    assert row.take_count >= 1


def test_what_is_played_goes_to_the_row_that_was_touched(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at).open(f"/instruments/{rows.soprano}/notes/C%235+25c")
    drawings = page.locator(".note-row .row-drawing")
    chosen = page.locator(".note-row:has([data-played]:checked)")
    expect(chosen.locator("h3")).to_have_text(page.locator(".note-row h3").first.inner_text())
    drawings.nth(1).tap()
    expect(chosen).to_have_count(1)
    expect(chosen.locator("h3")).to_have_text(page.locator(".note-row h3").nth(1).inner_text())


@pytest.mark.parametrize("size", [PHONE, DESKTOP])
def test_the_record_button_is_in_sight_and_everything_is_large_enough(
    visit: Visit, looked_at: Site, rows: Filled, size: dict[str, int]
) -> None:
    page = visit(looked_at, size=size).open(f"/instruments/{rows.soprano}/notes/C%235+25c")
    button = page.get_by_role("button", name="Record")
    expect(button).to_be_in_viewport(ratio=1)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert page.evaluate(SMALL_TARGETS, 44) == []
    if size == PHONE:  # both sizes follow here
        assert check_everywhere(page) == {}
