"""The range page in a browser: it is reached, jumps, opens its steps, and prints."""

from __future__ import annotations

import unicodedata
from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP, PHONE, TABLET
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

# E3 to G6 in quarter tones: 2 * 39 + 1 (closed formula).
STEPS = 79
WHITE = "rgb(255, 255, 255)"


def _top_of(page: Page, selector: str) -> float:
    found: float = page.locator(selector).evaluate("place => place.getBoundingClientRect().top")
    return found


def test_it_is_one_tap_from_the_start_page_and_every_row_is_a_way_on(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = visit(written_in).open(f"/?instrument={rows.soprano}")
    page.get_by_role("link", name="Notes", exact=True).click()
    expect(page.locator("h1")).to_have_text("Notes")
    assert page.locator(".range tbody tr").count() == STEPS

    # anywhere in the row, also on the picture: the link lies over all of it
    page.locator("#step-7350 .rung").click(position={"x": 20, "y": 20}, force=True)
    expect(page.locator("h1")).to_have_accessible_name("D quarter-flat 5")
    page.go_back()
    page.locator("#step-7850 .known").click(position={"x": 60, "y": 30}, force=True)
    expect(page.locator("h1")).to_have_accessible_name("G quarter-flat 5")
    assert f"/instruments/{rows.soprano}/notes/G5-50c" in page.url


def test_a_jump_shows_its_register_below_what_stays_in_place(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=PHONE).open(f"/instruments/{rows.soprano}/range")
    bar = page.locator(".range-jumps")
    page.get_by_role("link", name="Clarion").click()
    bar_end = bar.evaluate("bar => bar.getBoundingClientRect().bottom")
    assert _top_of(page, ".range-jumps") == 0
    assert bar_end <= _top_of(page, "#clarion") + 1 < 200

    gap = page.locator(".range-summary a")
    gap.click()
    target = str(gap.get_attribute("href"))
    head = page.locator(f"section:has({target}) thead th").first
    assert head.evaluate("head => head.getBoundingClientRect().bottom") <= _top_of(page, target)


@pytest.mark.parametrize("size", [PHONE, pytest.param(TABLET, marks=pytest.mark.long_run), DESKTOP])
def test_the_line_runs_straight_through_all_steps_of_a_register(
    visit: Visit, looked_at: Site, rows: Filled, size: dict[str, int]
) -> None:
    page = visit(looked_at, size=size).open(f"/instruments/{rows.soprano}/range?grid=48")
    middles = page.evaluate(
        """() => [...document.querySelectorAll(".range section")].map((section) =>
            [...section.querySelectorAll("td.axis .rung")].map((rung) => {
                const box = rung.getBoundingClientRect();
                return Math.round(box.left + box.width / 2);
            }))"""
    )
    assert [len(set(section)) for section in middles] == [1] * len(middles)
    boxes = page.evaluate(
        """() => [...document.querySelectorAll("td.axis .rung")].map((rung) => {
            const box = rung.getBoundingClientRect();
            return [box.width, box.height, rung.parentElement.getBoundingClientRect().height];
        })"""
    )
    assert all(width >= 120 for width, _, _ in boxes)
    assert all(abs(height - row) <= 1 for _, height, row in boxes), "no hole between two rungs"


def test_steps_are_reached_and_opened_by_keyboard(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, size=DESKTOP).open(f"/instruments/{rows.soprano}/range")
    page.locator("#step-7350 a").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('tr').id") == "step-7400"
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_accessible_name("D5")


@pytest.mark.long_run  # every day by forms and links alone, in `webapp/pages/test_range`
def test_it_works_without_scripts_filters_included(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, has_scripts=False).open(f"/instruments/{rows.soprano}/range")
    page.get_by_role("link", name="eighth tones").click()
    page.locator("summary", has_text="Narrow it down").click()
    page.get_by_label("Register", exact=True).select_option("throat")
    page.get_by_role("button", name="Show", exact=True).click()
    # 6650 to below 7050 in steps of 25 cents (closed formula)
    expect(page.locator(".range tbody tr")).to_have_count(16)
    expect(page.locator(".grids [aria-current]")).to_have_text("eighth tones")


def test_it_prints_light_with_every_step_whole(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    visitor = visit(written_in, size=DESKTOP, scheme="dark")
    page = visitor.open("/preferences")
    page.get_by_label("Light or dark").select_option("dark")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()
    page = visitor.open(f"/instruments/{rows.soprano}/range")
    page.emulate_media(media="print")

    styles = page.evaluate(
        """() => ({
            paper: getComputedStyle(document.body).backgroundColor,
            ink: getComputedStyle(document.querySelector("#step-7350 .stands")).color,
            breaks: [...document.querySelectorAll(".range tbody tr")]
                .map((row) => getComputedStyle(row).breakInside),
            shown: ["form", ".masthead", ".range-jumps", ".actions", ".grids"]
                .filter((name) => document.querySelector(name).checkVisibility()),
        })"""
    )
    assert styles["paper"] == WHITE
    assert styles["ink"] == "rgb(0, 0, 0)"
    assert set(styles["breaks"]) == {"avoid"}
    assert styles["shown"] == []

    names = page.locator(".range tbody th a > [aria-hidden]").all_inner_texts()
    # sharps and flats come from another font, whose signs are read back apart from their letter
    signs = ("\N{MUSIC SHARP SIGN}", "\N{MUSIC FLAT SIGN}")
    plain = [name for name in names if not any(sign in name for sign in signs)]
    for paper in ("A4", "Letter"):
        printed = PdfReader(BytesIO(page.pdf(format=paper)))
        assert len(printed.pages) <= 2
        # compatibility form, since the font sets "fl" as one sign
        text = unicodedata.normalize("NFKC", "".join(each.extract_text() for each in printed.pages))
        assert "Invented B-flat" in text
        assert [name for name in plain if name not in text] == []
