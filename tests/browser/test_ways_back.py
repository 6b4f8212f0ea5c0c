"""Mistakes can be taken back: deleting, and changing the same thing in two tabs."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def _press(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).click()


LONG = pytest.mark.long_run


# Every day one kind with scripts: `webapp/pages/test_bin` goes the way of each by forms alone.
@pytest.mark.parametrize(
    ("kind", "path", "has_scripts"),
    [
        ("fingering", "/fingerings/{base}", True),
        pytest.param("take", "/takes/{take}", False, marks=LONG),
        pytest.param("instrument", "/instruments/{soprano}/edit", True, marks=LONG),
        pytest.param("fingering", "/fingerings/{base}", False, marks=LONG),
        pytest.param("take", "/takes/{take}", True, marks=LONG),
        pytest.param("instrument", "/instruments/{soprano}/edit", False, marks=LONG),
    ],
)
def test_what_was_deleted_comes_back_by_undo_on_the_next_page(
    visit: Visit,
    written_in: Site,
    rows: Filled,
    kind: str,
    path: str,
    has_scripts: bool,
) -> None:
    visitor = visit(written_in, size=DESKTOP, has_scripts=has_scripts)
    page = visitor.open(path.format_map(vars(rows)))

    if kind == "fingering" and has_scripts:  # without scripts the tabs stand one below the other
        page.get_by_role("tab", name="Notes").click()
    _press(page, "Move to bin")
    assert f"The {kind} was moved to the bin." in page.locator(".notice").inner_text()
    gone = visitor.open(path.format_map(vars(rows)))
    assert gone.locator("h1").inner_text() == "Not in this notebook"
    _press(page, "Undo")

    assert f"The {kind} is back." in page.locator(".notice").inner_text()
    gone.reload()
    assert gone.locator("h1").inner_text() != "Not in this notebook"


@LONG  # every day an instrument (below), and a fingering without scripts in `test_fingerings`
def test_a_change_in_a_second_tab_shows_both_texts_and_can_be_sent_again(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    visitor = visit(written_in, size=DESKTOP)
    first = visitor.open(f"/fingerings/{rows.base}/edit")
    second = visitor.open(f"/fingerings/{rows.base}/edit")
    first.fill("#notes", "Speaks better with a harder reed.")
    _press(first, "Save")

    second.fill("#notes", "Speaks better when warm.")
    _press(second, "Save")

    stored = second.get_by_role("region", name="As it is stored now").inner_text()
    assert "Speaks better with a harder reed." in stored
    assert second.input_value("#notes") == "Speaks better when warm."
    _press(second, "Save")
    first.reload()
    first.get_by_role("tab", name="Notes").click()
    assert "Speaks better when warm." in first.get_by_role("tabpanel", name="Notes").inner_text()


def test_an_instrument_changed_in_a_second_tab_shows_both_texts(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    visitor = visit(written_in, size=DESKTOP)
    first = visitor.open(f"/instruments/{rows.soprano}/edit")
    second = visitor.open(f"/instruments/{rows.soprano}/edit")
    first.fill("#barrel", "65 mm")
    _press(first, "Save")

    second.fill("#barrel", "66 mm")
    _press(second, "Save")

    stored = second.get_by_role("region", name="As it is stored now").inner_text()
    assert "65 mm" in stored
    assert second.input_value("#barrel") == "66 mm"
