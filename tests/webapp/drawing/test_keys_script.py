"""The script of the key entry in a real browser: touch and keyboard.

The page is made of the shipped template, script and stylesheet and is served to the browser out of
memory, so that neither the application nor a network is needed.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import jinja2
import pytest
from playwright.sync_api import Browser, Page, Route

from analysis.keywork import (
    KeyStates,
    load_layout,
    parse_fingering,
)
from webapp import drawing
from webapp.drawing.fingering_entry import entry_view
from webapp.drawing.fingering_shapes import INK
from webapp.presenting.text_direction import isolate

pytestmark = pytest.mark.browser

WEBAPP = Path(drawing.__file__).parents[1]
SITE = "http://keys.test/"
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Keys</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,"><link rel="stylesheet" href="/static/css/keys.css">
<script type="module" src="/static/js/keys.js"></script></head>
<body><main><h1>Keys</h1><form>
{% from "fingering/_keys.html" import keys_entry %}{{ keys_entry(view) }}
</form></main></body></html>"""
BASE = "T R 123 | 123 | left F#"


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    context.close()
    assert faults == []


def _open(page: Page, fingering: KeyStates, base: KeyStates) -> None:
    loader = jinja2.FileSystemLoader(WEBAPP / "templates")
    environment = jinja2.Environment(loader=loader, autoescape=True)
    environment.filters["isolate"] = isolate
    view = entry_view(fingering.layout, fingering, base)
    html = environment.from_string(PAGE).render(view=view)

    def answer(route: Route) -> None:
        path = route.request.url.removeprefix(SITE)
        if path.startswith("static/"):
            route.fulfill(path=WEBAPP / path)
        else:
            route.fulfill(body=html, content_type="text/html")

    page.route("**/*", answer)
    page.goto(SITE)
    page.wait_for_selector(".keys-entry.is-live")


def _open_soprano(page: Page, text: str = BASE) -> None:
    soprano = load_layout("soprano-17-6")
    _open(page, parse_fingering(text, soprano), parse_fingering(BASE, soprano))


def _touch(page: Page, key_id: str) -> None:
    page.locator(f'[data-hit="{key_id}"]').tap()


def _said(page: Page, what: str) -> str:
    return page.inner_text(f"[data-keys-{what}]")


def _checked(page: Page) -> set[tuple[str, str]]:
    fields = page.locator("input:checked").evaluate_all("all => all.map(f => [f.name, f.value])")
    return {(name, value) for name, value in fields if value != "up"}


def test_a_touch_holds_or_opens_and_the_half_hole_button_covers_half(page: Page) -> None:
    _open_soprano(page)
    half = page.get_by_role("button", name="½ hole")
    seen = []
    for key, is_half in [("l1", False), ("l1", False), ("l1", True), ("l1", False), ("l1", True)]:
        if is_half:
            half.tap()
        _touch(page, key)
        assert half.get_attribute("aria-pressed") == "false"
        seen.append((_said(page, "text"), _said(page, "changes")))
    _touch(page, "right-e")
    seen.append((_said(page, "text"), _said(page, "changes")))

    assert seen == [
        ("T R -23 | 123 | left F#", "lift left 1"),
        ("T R 123 | 123 | left F#", "no change"),
        ("T R (1)23 | 123 | left F#", "half left 1"),
        ("T R -23 | 123 | left F#", "lift left 1"),
        ("T R (1)23 | 123 | left F#", "half left 1"),
        ("T R (1)23 | 123 | left F#, right E", "half left 1, + right E"),
    ]


def test_a_long_press_covers_a_hole_half_and_does_nothing_to_a_key_that_cannot_be(
    page: Page,
) -> None:
    _open_soprano(page)
    for key in ("l1", "right-e"):
        page.locator(f'[data-hit="{key}"]').click(delay=600)  # beyond the long press of keys.js

    assert _said(page, "text") == "T R (1)23 | 123 | left F#, right E"


def test_the_vented_plate_is_vented_by_its_button_and_no_other_plate_is(page: Page) -> None:
    bass = load_layout("bass-low-eb")
    base = parse_fingering(BASE, bass)
    _open(page, base, base)
    vent = page.locator('[data-key="l1"][data-part="vent"]')
    button = page.get_by_role("button", name="Vent")
    button.tap()
    _touch(page, "l1")
    assert _said(page, "changes") == "vent left 1"
    assert ("key-l1", "vented") in _checked(page)
    assert (_said(page, "text"), vent.get_attribute("display")) == (
        "T R [1]23 | 123 | left F#", None,
    )  # fmt: skip
    for text in ("T R -23 | 123 | left F#", BASE):
        _touch(page, "l1")
        assert (_said(page, "text"), vent.get_attribute("display")) == (text, "none")

    button.tap()
    _touch(page, "l2")  # a plate without a small hole is held or open, and the button waits
    assert _said(page, "text") == "T R 1-3 | 123 | left F#"
    assert button.get_attribute("aria-pressed") == "true"
    assert page.locator('[data-part="vent"]').count() == 1


def test_the_picture_and_the_fields_follow_each_other(page: Page) -> None:
    _open_soprano(page, "T --- | ---")
    half = page.locator('[data-key="l1"][data-part="half"]')
    assert half.get_attribute("display") == "none"

    page.get_by_role("button", name="½ hole").tap()
    _touch(page, "l1")

    assert half.get_attribute("display") is None
    assert _checked(page) == {("key-thumb", "down"), ("key-l1", "shaded")}
    page.locator("summary").click()
    page.check("#keys-right-e")
    outline = page.locator('[data-key="right-e"][data-part="outline"]')
    assert outline.get_attribute("fill") == INK


def test_what_was_cleared_or_touched_is_undone_step_by_step(page: Page) -> None:
    _open_soprano(page)
    assert page.is_disabled("[data-keys-undo]")

    _touch(page, "right-e")
    page.click("[data-keys-clear]")
    cleared = _said(page, "text")
    page.click("[data-keys-undo]")
    page.click("[data-keys-undo]")

    assert cleared == "--- | ---"
    assert _said(page, "text") == BASE
    assert page.is_disabled("[data-keys-undo]")


def test_an_impossible_state_is_named_at_once(page: Page) -> None:
    _open_soprano(page)

    _touch(page, "throat-a")

    assert _said(page, "conflicts") == (
        "The left first finger can't hold its hole and the throat A key."
    )


def test_everything_can_be_done_by_keyboard(page: Page) -> None:
    _open_soprano(page, "--- | ---")

    page.locator("summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")

    assert _said(page, "text") == "T R --- | ---"


def test_touch_targets_are_44_px_on_the_narrowest_phone(page: Page) -> None:
    # WCAG 2.2, success criterion 2.5.5 (target size, enhanced): 44 by 44 CSS px.
    page.set_viewport_size({"width": 352, "height": 800})
    _open_soprano(page)
    sizes = page.locator("[data-hit]").evaluate_all(
        "all => all.flatMap(one => [one.getBoundingClientRect()]).map(r => [r.width, r.height])"
    )

    assert len(sizes) == 24
    assert min(min(size) for size in sizes) >= 43.99
    assert page.evaluate("document.documentElement.scrollWidth") <= 352
