"""The live display: what it says and draws, how calmly, and that everyone can read and use it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.live_readings import (
    COUNT_CHANGES,
    FEED,
    TARGET_HZ,
    Reading,
    hold,
    play,
    words_of,
)
from tests.browser.test_access import RUN_AXE, SMALL_TARGETS

pytestmark = pytest.mark.browser


@pytest.fixture
def page(live_page: Page) -> Page:
    """The live display on a page by itself, watching."""
    return live_page


@pytest.mark.parametrize(
    ("cents", "number", "within"),
    [
        (-12.4, "−12 flat", ""),
        (12.4, "+12 sharp", ""),
        (9.6, "+10 sharp", "in tune"),
        (-0.3, "0 on target", "in tune"),
        (99.6, "+100 sharp", ""),
        (-1902.0, "you play a far note", "not counted"),
    ],
)
def test_the_number_has_its_sign_and_a_word(
    page: Page, cents: float, number: str, within: str
) -> None:
    page.evaluate("view.setNames(() => ({ note: 'a far note', pitch: 'a far note' }))")
    page.evaluate(FEED, hold(cents, 0, 1))

    assert words_of(page, "number") == number
    assert words_of(page, "within") == within
    assert words_of(page, "state") == "Now"


def test_the_closest_range_has_one_decimal(page: Page) -> None:
    page.evaluate(FEED, hold(-3.24, 0, 1))

    page.get_by_role("button", name="10 cents either way", exact=True).tap()

    assert words_of(page, "number") == "−3.2 flat"


@pytest.mark.parametrize(
    ("spread", "words"),
    [
        (0.6, "very steady, spread 0.6 cents"),
        (2.0, "steady, spread 2.0 cents"),
        (4.0, "moving a little, spread 4.0 cents"),
        (14.0, "moving, spread 14.0 cents"),
    ],
)
def test_steadiness_is_told_in_words_and_a_number(page: Page, spread: float, words: str) -> None:
    page.evaluate(FEED, hold(0.0, 0, 1, spread=spread))

    assert words_of(page, "steady") == words


def test_what_sounds_is_named(page: Page) -> None:
    page.evaluate("view.setNames((hz) => ({ note: 'A', pitch: `a note of ${hz.toFixed(0)} Hz` }))")
    page.evaluate(FEED, hold(1200.0, 0, 1))

    assert words_of(page, "name") == "Sounds as a note of 880 Hz"


def test_before_anything_sounds_it_says_so(page: Page) -> None:
    assert words_of(page, "state") == "Nothing has sounded yet"
    assert words_of(page, "number") == "–"
    page.evaluate(FEED, hold(None, 0, 1))
    assert words_of(page, "state") == "Nothing has sounded yet"


def test_a_rest_leaves_the_last_held_number_and_the_trace(page: Page) -> None:
    # the pitch drops by 60 cents while the note is let go
    page.evaluate(FEED, play(lambda t: 20.0 if t < 1.9 else 20.0 - 600 * (t - 1.9), 0, 2))
    sounding = page.locator(".live-line").get_attribute("d")
    weight = "element => getComputedStyle(element).fontWeight"
    assert page.locator(".live-cents").evaluate(weight) == "700"

    page.evaluate(FEED, hold(None, 2, 6))

    assert words_of(page, "state") == "Last held"
    assert words_of(page, "number") == "+20 sharp"
    assert page.locator(".live-cents").evaluate(weight) == "400"
    assert page.locator(".live-pen > *").count() == 0
    stood = page.locator(".live-line").get_attribute("d")
    assert stood is not None and sounding is not None
    assert stood.count("L") == sounding.count("L")  # nothing has scrolled away
    # nor is anything written anew: listening to a rest costs a tablet next to nothing
    assert page.evaluate(COUNT_CHANGES, [hold(None, 6, 8), 0, ".live", None]) == 0
    page.evaluate(FEED, hold(None, 8, 60))
    assert page.locator(".live-line").get_attribute("d") == stood


def test_a_breath_between_two_notes_is_no_rest(page: Page) -> None:
    page.evaluate(FEED, play(lambda t: 5.0 if not 1.0 < t < 1.2 else None, 0, 1.2))

    assert words_of(page, "state") == "Now"


def test_another_target_clears_the_display_and_is_its_new_zero(page: Page) -> None:
    page.evaluate(FEED, hold(30.0, 0, 1))
    page.evaluate("view.markTakes([{ offsetCents: 2, uncertaintyCents: 0.4 }])")

    page.evaluate("hz => view.setTarget({ hz, label: 'C sharp 5' })", TARGET_HZ * 2 ** (50 / 1200))

    assert words_of(page, "number") == "–"
    assert page.locator(".live-marks > *").count() == 0
    assert "Bold line: C sharp 5." in words_of(page, "legend")
    page.evaluate(FEED, hold(30.0, 1, 2))
    assert words_of(page, "number") == "−20 flat"


def test_the_same_target_again_leaves_everything(page: Page) -> None:
    page.evaluate(FEED, hold(30.0, 0, 1))

    page.evaluate("hz => view.setTarget({ hz, label: 'B4' })", TARGET_HZ)

    assert words_of(page, "number") == "+30 sharp"


def _pen_height(page: Page) -> float:
    """Where the pen stands: 1 the upper edge of the plot, 0 the target, -1 the lower edge."""
    pen = page.locator(".live-pen circle").bounding_box()
    target = page.locator(".live-target").bounding_box()
    height = float(page.locator(".live-plot").evaluate("plot => plot.height.baseVal.value"))
    assert pen and target
    middle = target["y"] + target["height"] / 2
    return (middle - pen["y"] - pen["height"] / 2) / (height / 2)


@pytest.mark.parametrize(
    ("range_cents", "labels"),
    [
        (10, "+5 −5 +10 −10 0"),
        (25, "+10 −10 +20 −20 0"),
        (50, "+25 −25 +50 −50 0"),
        (100, "+50 −50 +100 −100 0"),
        (200, "+100 −100 +200 −200 0"),
    ],
)
def test_high_is_up_to_the_scale_of_the_range(page: Page, range_cents: int, labels: str) -> None:
    page.get_by_role("button", name=f"{range_cents} cents either way", exact=True).tap()
    assert page.locator(".live-ranges [aria-pressed=true]").all_inner_texts() == [f"±{range_cents}"]
    assert page.locator(".live-scale text").all_text_contents() == labels.split()
    for at, share in enumerate((0.8, -0.5, 0.0)):
        page.evaluate(FEED, hold(share * range_cents, at, at + 1))

        assert _pen_height(page) == pytest.approx(share, abs=0.02)


@pytest.mark.parametrize(("cents", "words"), [(-63.0, "−63 ↓"), (63.0, "+63 ↑")])
def test_beyond_the_range_an_arrow_and_a_number_stand_at_the_edge(
    page: Page, cents: float, words: str
) -> None:
    page.evaluate(FEED, hold(cents, 0, 2))

    assert page.locator(".live-pen text").inner_html() == words
    assert page.locator(".live-pen path").count() == 1
    assert page.locator(".live-pen circle").count() == 0
    assert page.locator(".live-beyond").get_attribute("d") != ""
    page.get_by_role("button", name="100 cents either way", exact=True).tap()
    page.evaluate(FEED, hold(cents, 2, 2.2))
    assert page.locator(".live-pen circle").count() == 1
    assert page.locator(".live-beyond").get_attribute("d") == ""


def test_the_page_is_told_which_range_the_player_chose(page: Page) -> None:
    page.evaluate(
        "view.element.addEventListener('range', ({ detail }) => { window.told = detail.cents; })"
    )

    page.get_by_role("button", name="25 cents either way", exact=True).tap()

    assert page.evaluate("window.told") == 25


def test_a_measured_take_is_marked_with_its_number(page: Page) -> None:
    first = "{ offsetCents: 12, uncertaintyCents: 0.8 }"
    page.evaluate(f"view.markTakes([{first}, {{ offsetCents: -3.24, uncertaintyCents: 0.4 }}])")

    marks = page.locator(".live-marks")
    assert marks.locator("text").all_text_contents() == [
        "take",
        "−3.2",
    ]
    assert marks.locator("path").count() == 2
    page.evaluate("view.markTakes([{ offsetCents: 80, uncertaintyCents: null }])")
    assert marks.locator("text").first.evaluate("one => one.textContent") == "take ↑"


def test_held_still_nothing_moves_until_it_is_let_go(page: Page) -> None:
    page.evaluate(FEED, hold(10.0, 0, 1))
    button = page.get_by_role("button", name="Freeze")
    button.tap()
    before = page.locator(".live-line").get_attribute("d")

    page.evaluate(FEED, hold(40.0, 1, 2))

    assert button.get_attribute("aria-pressed") == "true"
    assert words_of(page, "state") == "Frozen"
    assert words_of(page, "number") == "+10 sharp"
    assert page.locator(".live-line").get_attribute("d") == before
    button.tap()
    page.evaluate(FEED, hold(40.0, 2, 3))
    assert words_of(page, "number") == "+40 sharp"


def test_numbers_change_five_times_a_second_at_most(page: Page) -> None:
    page.emulate_media(reduced_motion="no-preference")
    readings = play(lambda t: 30 * math.sin(9 * t), 0, 2)

    changes = page.evaluate(COUNT_CHANGES, [readings, 0, ".live-cents", None])

    assert 8 <= changes <= 11  # over two seconds


def test_who_wants_little_movement_gets_two_pictures_a_second(page: Page) -> None:
    readings = play(lambda t: 30 * math.sin(9 * t), 0, 2)

    numbers = page.evaluate(COUNT_CHANGES, [readings, 0, ".live-cents", None])
    pictures = page.evaluate(COUNT_CHANGES, [readings, 33, ".live-line", "d"])
    page.emulate_media(reduced_motion="no-preference")
    moving = page.evaluate(COUNT_CHANGES, [readings, 33, ".live-line", "d"])

    assert numbers <= 5
    assert 3 <= pictures <= 8  # two seconds of readings, which a busy machine may stretch
    assert moving > 2 * pictures


def test_nothing_is_drawn_while_nothing_comes(page: Page) -> None:
    page.emulate_media(reduced_motion="no-preference")
    page.evaluate(FEED, hold(10.0, 0, 1))

    changes = page.evaluate(
        """async () => {
            let count = 0;
            const watcher = new MutationObserver(() => { count += 1; });
            watcher.observe(view.element, { subtree: true, childList: true, attributes: true });
            await new Promise((resolve) => setTimeout(resolve, 500));
            return count;
        }"""
    )

    assert changes == 0


def test_a_screen_reader_hears_it_when_asked_and_not_all_the_time(page: Page) -> None:
    page.evaluate("view.setNames(() => ({ note: 'B4', pitch: 'B4 −12 cents' }))")
    page.evaluate(FEED, hold(-12.0, 0, 1))
    now = page.locator(".live-now")
    assert now.get_attribute("aria-live") == "off"
    assert page.locator(".live-trace").get_attribute("aria-hidden") == "true"
    said = page.get_by_role("status").last
    expect(said).to_have_text("")

    page.get_by_role("button", name="Speak").press("Enter")

    expect(said).to_have_text(
        "Now: 12 cents flat of B4, steady, spread 1.1 cents. It sounds as B4 −12 cents."
    )
    page.evaluate("view.setNames(() => ({ note: 'G sharp 4', pitch: 'G sharp 4 +5 cents' }))")
    page.evaluate(FEED, hold(-295.0, 1, 2))
    assert page.evaluate("view.describe()") == (
        "Now: you play G sharp 4, not B4. It sounds as G sharp 4 +5 cents."
    )
    page.evaluate("view.setWatching(false)")
    assert page.evaluate("view.describe()").startswith("Measuring.")


def test_all_of_it_works_by_keyboard(page: Page) -> None:
    names = []
    page.locator("h1").evaluate("h1 => { h1.tabIndex = -1; h1.focus(); }")
    for _ in range(7):
        page.keyboard.press("Tab")
        names.append(page.evaluate("document.activeElement.textContent"))
    assert names == ["±10", "±25", "±50", "±100", "±200", "Freeze", "Speak"]
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Space")
    assert page.get_by_role("button", name="Freeze").get_attribute("aria-pressed") == "true"


LONG_NAME = """view.setNames(() => ({
    note: "ré5, quart de ton plus haut", pitch: "ré5, quart de ton plus haut, −12 cents",
}))"""
STATES: dict[str, list[Reading]] = {
    "nothing yet": [],
    "on target": play(lambda t: 2 * math.sin(t), 0, 3),
    "far off": hold(-1902.0, 0, 3),
    "silent": play(lambda t: 12.0 if t < 2 else None, 0, 4),
}


WIDTHS_OF_AXE = [(390, 1280), pytest.param((320, 390, 820, 1280), marks=pytest.mark.long_run)]


@pytest.mark.parametrize("widths", WIDTHS_OF_AXE, ids=["two by axe", "all by axe"])
@pytest.mark.parametrize("state", STATES)
def test_it_can_be_read_by_everyone_at_every_width(
    page: Page, state: str, widths: tuple[int, ...]
) -> None:
    page.evaluate(LONG_NAME)
    page.evaluate(FEED, STATES[state])
    page.evaluate("view.markTakes([{ offsetCents: -163.4, uncertaintyCents: 0.4 }])")
    page.get_by_role("button", name="Speak").tap()
    page.evaluate(Axe().axe_script)
    found: dict[str, Any] = {}
    for width in (320, 390, 820, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        page.emulate_media(color_scheme="dark" if width in (390, 820) else "light")
        if width in widths:
            found[f"{width} axe"] = page.evaluate(RUN_AXE)
        found[f"{width} wide"] = page.evaluate(
            "Math.max(0, document.documentElement.scrollWidth - innerWidth)"
        )
        found[f"{width} cut"] = page.evaluate(
            """() => {
                const outer = document.querySelector(".live").getBoundingClientRect();
                const isCut = ({ left, right }) => left < outer.left - 1 || right > outer.right + 1;
                return [...document.querySelectorAll(".live p, .live span, .live text")]
                    .filter((one) => isCut(one.getBoundingClientRect()))
                    .map((one) => one.textContent);
            }"""
        )
    assert {name: each for name, each in found.items() if each} == {}
    assert page.evaluate(SMALL_TARGETS, 44) == []


def test_numbers_do_not_push_the_page_about(page: Page) -> None:
    def height() -> float:
        return float(page.locator(".live").evaluate("live => live.getBoundingClientRect().height"))

    page.evaluate("view.setNames(() => ({ note: 'sol5, quart de ton plus haut', pitch: 'sol5' }))")
    heights = {height()}
    for is_watching in ("true", "false"):
        page.evaluate(f"view.setWatching({is_watching})")
        for cents, to_s in ((-12.0, 1), (3.0, 2), (180.0, 3), (None, 4)):
            page.evaluate(FEED, hold(cents, to_s - 1, to_s))
            heights.add(height())

    assert len(heights) == 1


def test_the_drawing_follows_the_paper(page: Page) -> None:
    page.evaluate(FEED, hold(10.0, 0, 1))
    stroke = "line => getComputedStyle(line).stroke"
    light = page.locator(".live-target").evaluate(stroke)

    page.evaluate("document.documentElement.dataset.theme = 'dark'")

    assert page.locator(".live-target").evaluate(stroke) != light
