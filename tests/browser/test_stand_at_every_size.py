"""The stand on every sheet: without scripts, on a phone, a tablet and a laptop."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, FloatRect, Page, expect

from tests.browser.conftest import Launch, Visit
from tests.browser.microphones import playing, write_notes
from tests.browser.serving import Site
from tests.browser.standing import D5_QUARTER_FLAT, HEARD_MS, begin, takes, to_the_stand
from tests.browser.visiting import (
    DESKTOP,
    LAPTOP,
    PHONE,
    SMALL_PHONE,
    TABLET,
    TABLET_ON_ITS_SIDE,
)
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import listed, sounding_hz
from webapp.notebook.opening import open_notebook

pytestmark = pytest.mark.browser


def test_without_scripts_it_is_a_list_with_forms(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    practice = begin(folder, rows)
    page = visit(written_in, size=DESKTOP, has_scripts=False).open(f"/practice/{practice}/stand")
    headings = page.locator(".stand-item h2")
    names = ["D quarter-flat 5", "C sharp 5, 25 cents higher"]
    expect(headings).to_have_count(len(names))
    for heading, name in zip(headings.all(), names, strict=True):
        expect(heading).to_have_accessible_name(name)
    assert all(each.is_visible() for each in page.locator(".stand-candidate").all())
    assert not page.locator(".stand-buttons").is_visible()
    with page.expect_navigation():
        page.locator(".stand-item").nth(1).get_by_role("button", name="Done").click()
    assert page.url.endswith(f"/practice/{practice}/stand#target-2")
    with closing(open_notebook(folder)) as notebook:
        assert [row.state for row in listed(notebook, practice)] == ["open", "done"]


def box(page: Page, selector: str) -> FloatRect:
    found = page.locator(selector).first.bounding_box()
    assert found is not None, selector
    return found


@pytest.mark.parametrize("size", [TABLET, TABLET_ON_ITS_SIDE, LAPTOP])
def test_the_loop_needs_no_scrolling_on_tablet_and_laptop(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, evening: Browser,
    size: dict[str, int],
) -> None:  # fmt: skip
    page = to_the_stand(visit(written_in, browser=evening, size=size), begin(folder, rows))
    page.keyboard.press("Space")
    # at least: on a busy machine the third note may have been heard before the second is looked at
    expect(takes(page).nth(1)).to_be_visible(timeout=HEARD_MS)
    for part in (".stand-name", ".live-number", ".live-trace", ".stand-drawing", ".stand-listen",
                 "[data-do=next-target]", ".stand-take"):  # fmt: skip
        found = box(page, f".stand-item:not([hidden]) {part}, .stand > * {part}, .stand > {part}")
        assert found["y"] >= 0, part
        assert found["y"] + found["height"] <= size["height"], part
    left, right = box(page, ".stand-drawing"), box(page, ".stand-trace")
    assert left["x"] + left["width"] <= right["x"]


def tops_of(page: Page, *selectors: str) -> list[float]:
    return [
        page.evaluate(
            "name => document.querySelector(name).getBoundingClientRect().top + scrollY", name
        )
        for name in selectors
    ]


def test_on_a_phone_all_is_in_one_column_and_the_buttons_stay_at_hand(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(visit(written_in, size=PHONE), begin(folder, rows))
    tops = tops_of(page, ".stand-name", ".stand-candidates", ".stand-trace", ".stand-takes")
    assert tops == sorted(tops)
    listen = box(page, ".stand-listen")
    assert listen["y"] + listen["height"] <= PHONE["height"]
    drawing = box(page, ".stand-item:not([hidden]) .stand-drawing")
    assert drawing["y"] + drawing["height"] <= box(page, ".stand-buttons")["y"]


def check_what_is_heard_lies_above_the_buttons(page: Page) -> None:
    top = box(page, ".stand-buttons")["y"]
    for part in ("[data-microphone-words]", "[data-level-meter]", ".live-trace"):
        found = box(page, part)
        assert found["y"] >= 0, part
        assert found["y"] + found["height"] <= top, part
    trace, hint = box(page, ".live-trace"), box(page, "[data-watch-hint]")
    assert trace["y"] <= hint["y"]
    assert hint["y"] + hint["height"] <= trace["y"] + trace["height"]
    watch = box(page, "[data-watch]")
    assert watch["y"] + watch["height"] <= page.evaluate("innerHeight")


def test_on_a_phone_the_level_and_the_trace_lie_above_the_buttons_while_it_listens(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, evening: Browser
) -> None:
    page = to_the_stand(visit(written_in, browser=evening, size=PHONE), begin(folder, rows))
    page.locator(".stand-listen").click()
    expect(page.locator("[data-microphone-words]")).to_have_text("Play when you are ready.")
    check_what_is_heard_lies_above_the_buttons(page)
    tops = tops_of(page, ".stand-name", ".stand-trace", ".stand-candidates", ".stand-takes")
    assert tops == sorted(tops)


def test_on_a_small_phone_a_warning_leaves_the_trace_above_the_buttons(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, launch: Launch, tmp_path: Path
) -> None:
    loud = tmp_path / "loud.wav"
    write_notes(loud, [sounding_hz(D5_QUARTER_FLAT)] * 4, note_s=2.0, gain=40.0)
    page = to_the_stand(
        visit(written_in, browser=launch(*playing(loud)), size=SMALL_PHONE), begin(folder, rows)
    )
    page.locator(".stand-listen").click()
    expect(page.locator("[data-microphone-words]")).to_contain_text("Too loud", timeout=HEARD_MS)
    check_what_is_heard_lies_above_the_buttons(page)


def test_one_note_with_one_fingering_has_no_buttons_that_lead_nowhere(
    looked_at: Site, visit: Visit, rows: Filled
) -> None:
    page = visit(looked_at, size=PHONE).open(f"/fingerings/{rows.silent}/stand")
    expect(page.locator(".stand.is-live")).to_be_visible()
    expect(page.locator(".stand-buttons button[data-do]")).to_have_count(1)
    page.keyboard.press("PageDown")
    expect(page.locator("[data-said]")).to_have_text("There is no other target that way.")


@pytest.mark.parametrize("size", [PHONE, TABLET])
def test_big_buttons_are_big(
    written_in: Site, visit: Visit, rows: Filled, folder: Path, size: dict[str, int]
) -> None:
    page = to_the_stand(visit(written_in, size=size), begin(folder, rows))
    buttons = page.locator(
        ".stand-buttons button, .stand-item:not([hidden]) .stand-settle form:not([hidden]) button"
    )
    heights = buttons.evaluate_all("all => all.map((one) => one.getBoundingClientRect().height)")
    assert len(heights) == 8
    assert min(heights) >= 64
