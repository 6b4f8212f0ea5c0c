"""Entry of a note by touch: dragged, stepped, signed and nudged, by finger and by keys."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import PHONE
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def test_a_note_is_chosen_on_the_staff_and_found(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=PHONE).open(f"/search?instrument={rows.soprano}&q=D5")
    page.get_by_text("Choose it on the staff").tap()
    staff = page.get_by_role("slider", name="Note on the staff")
    staff.wait_for()
    field = page.get_by_label("Note", exact=True)
    expect(staff).to_have_attribute("aria-valuetext", "D5")

    page.get_by_role("button", name="Sign down").tap()
    expect(staff).to_have_attribute("aria-valuetext", "D quarter-flat 5")
    page.get_by_role("button", name="5 cents higher", exact=True).tap()
    expect(staff).to_have_attribute("aria-valuetext", "D quarter-flat 5, 5 cents higher")
    expect(field).to_have_value("D5-45c")

    staff.focus()
    for key in ("ArrowUp", "PageDown"):
        page.keyboard.press(key)
    expect(staff).to_have_attribute("aria-valuetext", "E quarter-flat 4, 5 cents higher")
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    expect(page.get_by_text("Below the lowest note, E3.")).to_be_visible()

    box = staff.bounding_box()
    assert box is not None
    # The middle line of the staff lies at 100 of 198 units from -4 on.
    page.mouse.move(box["x"] + 20, box["y"] + box["height"] * 0.9)
    page.mouse.down()
    page.mouse.move(box["x"] + 20, box["y"] + box["height"] * 104 / 198)
    page.mouse.up()
    expect(staff).to_have_attribute("aria-valuetext", "B quarter-flat 4, 5 cents higher")
    with page.expect_navigation():
        page.get_by_role("button", name="Find", exact=True).tap()
    expect(page.locator("h2#found")).to_have_accessible_name("B quarter-flat 4, 5 cents higher")


def test_it_sounds_until_it_is_pressed_again(visit: Visit, looked_at: Site, rows: Filled) -> None:
    page = visit(looked_at, size=PHONE).open(f"/instruments/{rows.soprano}/fingerings/new")
    page.get_by_text("Choose it on the staff").tap()
    hear = page.get_by_role("button", name="Hear it")
    hear.tap()
    expect(hear).to_have_attribute("aria-pressed", "true")
    hear.tap()
    expect(hear).to_have_attribute("aria-pressed", "false")
