"""Keywork in a real browser: typing and touching a fingering say the same; layouts are edited.

By keyboard, by mouse and by touch, with and without scripts.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

INK = "#111"
SELECT = """(field, words) => {
    const from = field.value.indexOf(words);
    field.focus();
    field.setSelectionRange(from, from + words.length);
}"""


def _log_page(visit: Visit, site: Site, rows: Filled, **options: object) -> Page:
    return visit(site, **options).open(f"/instruments/{rows.soprano}/fingerings/new")


def _fill_of(page: Page, key: str) -> str | None:
    return page.locator(f'[data-key="{key}"][data-part="outline"]').get_attribute("fill")


def test_typing_sets_the_picture_and_says_how_it_lies(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _log_page(visit, looked_at, rows, size=DESKTOP)
    up = _fill_of(page, "right-e")
    page.locator("#keys_text").fill("t r (1)23, 123, left f#, low e")
    expect(page.locator("[data-keys-text]")).to_have_text("T R (1)23 | 123 | left F#, right E")
    assert _fill_of(page, "right-e") != up
    assert page.locator("#keys-right-e").is_checked()
    expect(page.locator("[data-keys-ease]")).to_contain_text("awkward; half-hole")
    # What is typed stays as it is typed until the field is left.
    assert page.input_value("#keys_text") == "t r (1)23, 123, left f#, low e"
    page.locator("#target").focus()
    expect(page.locator("#keys_text")).to_have_value("T R (1)23 | 123 | left F#, right E")


def test_touching_the_picture_writes_the_text_and_undo_takes_both_back(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _log_page(visit, looked_at, rows)  # a phone, touched
    page.locator('[data-hit="thumb"]').tap()
    page.locator('[data-hit="l1"]').tap()
    expect(page.locator("#keys_text")).to_have_value("T 1-- | ---")
    page.locator("#keys_text").fill("T 12- | ---")
    expect(page.locator("[data-keys-text]")).to_have_text("T 12- | ---")
    page.locator("[data-keys-undo]").tap()
    expect(page.locator("#keys_text")).to_have_value("T 1-- | ---")
    page.locator("[data-keys-clear]").tap()
    expect(page.locator("#keys_text")).to_have_value("--- | ---")
    page.locator("[data-keys-undo]").tap()
    expect(page.locator("[data-keys-text]")).to_have_text("T 1-- | ---")


def test_a_fault_points_at_the_character_and_leaves_the_keys(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _log_page(visit, looked_at, rows, size=DESKTOP)
    page.locator('[data-hit="thumb"]').click()
    page.locator("#keys_text").fill("T R 12x | 1--")
    problem = page.locator("[data-keys-problem]")
    expect(problem).to_contain_text("At character 7")
    assert page.locator("pre.pointer").inner_text() == "T R 12x | 1--\n      ^"
    assert page.locator("[data-keys-text]").inner_text() == "T --- | ---"
    assert page.get_attribute("#keys_text", "aria-invalid") == "true"
    page.locator("#keys_text").fill("T R 12- | 1--")
    expect(problem).to_be_empty()
    expect(page.locator("[data-keys-text]")).to_have_text("T R 12- | 1--")


def test_a_fingering_is_typed_and_kept_by_keyboard_alone(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = _log_page(visit, written_in, rows, size=DESKTOP)
    page.locator("#target").focus()
    page.keyboard.type("B4 +50")
    page.locator("#keys_text").focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("t r 123, 123, low e")
    page.keyboard.press("Enter")
    expect(page.locator("#keys_text")).to_have_value("T R 123 | 123 | right E")
    assert page.url.endswith("/fingerings/new"), "Enter reads, it does not send"
    with page.expect_navigation():
        page.press("#target", "Enter")
    assert page.locator(".entry-picture .keys-text").inner_text() == "T R 123 | 123 | right E"


def test_what_is_typed_fast_and_sent_at_once_is_what_is_kept(
    visit: Visit, written_in: Site, rows: Filled
) -> None:
    page = _log_page(visit, written_in, rows, size=DESKTOP)
    page.fill("#target", "B4 +50")
    page.locator("#keys_text").evaluate("field => { field.value = 'T 123 | 1--'; }")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()
    assert page.locator(".entry-picture .keys-text").inner_text() == "T 123 | 1--"


@pytest.mark.long_run  # every day by forms alone, in `webapp/pages/test_typed_keys`
def test_without_scripts_a_button_reads_the_text(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = _log_page(visit, looked_at, rows, has_scripts=False)
    page.fill("#keys_text", "t r 12x | 1")
    page.get_by_role("button", name="Read it").click()
    assert "At character 7" in page.locator("#keys-typed-problem").inner_text()
    page.fill("#keys_text", "t r 12-, 1")
    page.get_by_role("button", name="Read it").click()
    assert page.input_value("#keys_text") == "T R 12- | 1--"
    assert page.locator("#keys-r1-down").is_checked()


def test_the_way_from_the_base_follows_what_is_touched(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at).open(
        f"/instruments/{rows.soprano}/fingerings/new?base=ordinary:C%235:1"
    )
    way = page.locator("[data-keys-way]")
    assert way.inner_text() == "nothing moves"
    page.locator('[data-hit="right-cross"]').tap()
    expect(way).to_contain_text("effort")


def test_a_layout_is_made_its_fault_found_and_mended(visit: Visit, written_in: Site) -> None:
    page = visit(written_in, size=DESKTOP).open("/layouts/new?from=soprano-17-6")
    # as a player changes a word: chromium takes seconds to put a text of that length in anew
    page.locator("#toml").evaluate(SELECT, 'finger = "thumb"')
    page.keyboard.type('finger = "toe"')
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Go to line").click()
    selected = "field => field.value.slice(field.selectionStart, field.selectionEnd)"
    assert page.locator("#toml").evaluate(selected) == 'finger = "toe"'
    assert page.evaluate("document.activeElement.id") == "toml"
    page.keyboard.type('finger = "thumb"')
    page.get_by_role("button", name="Look at it").click()
    assert "Not saved yet" in page.locator("main").inner_text()
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()
    assert "The layout is kept" in page.locator(".notice").inner_text()


def test_a_picture_is_saved_as_it_is_seen(visit: Visit, looked_at: Site, rows: Filled) -> None:
    page = visit(looked_at).open(f"/fingerings/{rows.base}")
    page.get_by_role("tab", name="Notes").tap()
    page.get_by_text("Another view, or save the picture").tap()
    with page.expect_navigation():
        page.get_by_role("link", name="as a teacher faces me").tap()
    expect(page.get_by_role("button", name="Save as SVG")).to_be_visible()  # where it was chosen
    for ending in ("SVG", "PNG", "PDF"):
        with page.expect_download() as download:
            page.get_by_role("button", name=f"Save as {ending}").tap()
        assert download.value.suggested_filename == f"fingering-{rows.base}.{ending.lower()}"
        assert "mirrored=1" in download.value.url
