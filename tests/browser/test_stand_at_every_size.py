"""The stand on every sheet: without scripts, on a phone, a tablet and a laptop."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import FloatRect, Page, expect

from tests.browser.conftest import Visit
from tests.browser.played_microphone import play, rest, tone
from tests.browser.serving import Site
from tests.browser.standing import (
    D5_QUARTER_FLAT,
    HEARD_MS,
    TWO_NOTES,
    begin,
    takes,
    to_the_stand,
)
from tests.browser.test_access import RUN_AXE, resize
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


SHEETS = [SMALL_PHONE, PHONE, TABLET, TABLET_ON_ITS_SIDE, LAPTOP]
DAILY_SHEETS = [SMALL_PHONE, TABLET, LAPTOP]
SIZES = "all => all.map((one) => one.getBoundingClientRect()).map((one) => [one.width, one.height])"
# Where the first element of each name lies; the height of the window, how it is scrolled.
LOOK = """(names) => [
    names.map((name) => document.querySelector(name)?.getBoundingClientRect().toJSON() ?? null)
        .map((box) => (box?.width ? box : null)),
    innerHeight, document.documentElement.scrollWidth <= innerWidth, scrollY,
]"""
TWO_FRAMES = "() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)))"
IN_ONE_SCREEN = (
    ".stand-item:not([hidden]) h2",
    ".stand-item:not([hidden]) .stand-staff",
    ".stand-item:not([hidden]) .stand-candidate:not([hidden]) .stand-drawing",
    ".live-trace",
    ".stand-watch",
    ".stand-bar",
    ".stand-listen",
    "[data-do=next-target]",
    ".stand-item:not([hidden]) [data-settle-to=done] button",
)


def check_one_screen(page: Page, *more: str) -> None:
    """Whether all that playing needs lies in sight, nothing over the drawing."""
    parts = (*IN_ONE_SCREEN, *more)
    boxes, height, is_narrow, scrolled = page.evaluate(LOOK, parts)
    found = dict(zip(parts, boxes, strict=True))
    for part, seen in found.items():
        assert seen is not None, part
        assert seen["top"] >= 0, part
        assert seen["bottom"] <= height, part
    drawing, bar = found[IN_ONE_SCREEN[2]], found[".stand-bar"]
    assert drawing["width"] >= 140
    assert drawing["height"] >= 180
    assert drawing["bottom"] <= bar["top"]
    assert is_narrow
    assert scrolled == 0


def check_sizes(page: Page, sizes: Sequence[dict[str, int]], *more: str) -> None:
    """Check one screen on one sheet after the other, as when a window is drawn larger."""
    for size in sizes:
        if page.viewport_size != size:
            resize(page, size)
            page.evaluate(TWO_FRAMES)  # what follows the size of the window has followed it
        check_one_screen(page, *more)


def check_buttons(page: Page, sizes: Sequence[dict[str, int]]) -> None:
    """Check that what a finger presses is big, on a small phone and a tablet among the sheets."""
    for size in sizes:
        if size in (SMALL_PHONE, TABLET):
            resize(page, size)
            found = page.locator(".stand-screen :is(button, a):visible").evaluate_all(SIZES)
            assert len(found) >= 8
            assert min(min(each) for each in found) >= 44


def check_rules(page: Page, sizes: Sequence[dict[str, int]]) -> None:
    """Check axe's rules on a phone and on a laptop, where they are among the sheets."""
    for size in sizes:
        if size in (PHONE, LAPTOP):
            resize(page, size)
            if not page.evaluate("'axe' in window"):
                page.evaluate(Axe().axe_script)
            assert [each["id"] for each in page.evaluate(RUN_AXE)] == []


@pytest.mark.parametrize(  # every day axe looks once, when all there can be is on the screen
    ("sizes", "is_daily"),
    [
        pytest.param(DAILY_SHEETS, True, id="drawn larger"),
        pytest.param(SHEETS, False, id="drawn larger in five steps", marks=pytest.mark.long_run),
        *(
            pytest.param([size], False, id=f"{size['width']}", marks=pytest.mark.long_run)
            for size in SHEETS
        ),
    ],
)
def test_drawing_note_trace_and_figure_lie_in_one_screen_before_while_and_after_listening(
    written_in: Site, visit: Visit, rows: Filled, folder: Path,
    sizes: Sequence[dict[str, int]], is_daily: bool,
) -> None:  # fmt: skip
    looked_at = () if is_daily else sizes
    page = to_the_stand(
        visit(written_in, is_suggested_to=False, is_played_to=True, size=sizes[0]),
        begin(folder, rows),
    )
    check_buttons(page, sizes)
    check_sizes(page, sizes)
    check_rules(page, looked_at)
    watched = box(page, "[data-watch-hint]")
    assert watched["y"] + watched["height"] <= box(page, ".stand-bar")["y"]
    page.locator(".stand-listen").click()
    words = page.locator("[data-bar-word]")
    expect(words).to_have_text("Listening")
    expect(page.locator(".stand-ear-on")).to_be_visible()
    check_sizes(page, sizes)
    check_rules(page, looked_at)
    play(page, [*TWO_NOTES, rest(1.0)])
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    expect(page.locator(".stand-chip").first).to_contain_text("in tune")
    expect(page.locator(".live-cents")).not_to_have_text("")
    check_sizes(page, sizes, ".live-cents", ".stand-chip")
    page.locator(".stand-chip").first.click()
    check_sizes(page, sizes, ".stand-take-detail:popover-open")
    check_rules(page, sizes)
    page.keyboard.press("Escape")
    page.locator(".stand-listen").click()
    expect(words).to_have_text("")
    expect(page.locator(".stand-ear-on")).to_be_hidden()
    check_sizes(page, sizes, ".live-cents", ".stand-chip")
    check_rules(page, looked_at)


def test_on_a_small_phone_a_warning_leaves_the_trace_above_the_buttons(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    page = to_the_stand(
        visit(written_in, is_suggested_to=False, is_played_to=True, size=SMALL_PHONE),
        begin(folder, rows),
    )
    page.locator(".stand-listen").click()
    expect(page.locator("[data-bar-word]")).to_have_text("Listening")
    play(page, [tone(sounding_hz(D5_QUARTER_FLAT), peak=4.0)])
    expect(page.locator("[data-microphone-words]")).to_contain_text("Too loud", timeout=HEARD_MS)
    check_one_screen(page)


def test_one_note_with_one_fingering_has_no_buttons_that_lead_nowhere(
    looked_at: Site, visit: Visit, rows: Filled
) -> None:
    page = visit(looked_at, size=PHONE).open(f"/fingerings/{rows.silent}/stand")
    expect(page.locator(".stand.is-live")).to_be_visible()
    expect(page.locator(".stand button[data-do]:visible")).to_have_count(1)
    page.keyboard.press("PageDown")
    expect(page.locator("[data-said]")).to_have_text("There is no other note that way.")
