"""The live display while it measures: nothing of the pitch before the note ends, then all of it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.live_readings import FEED, hold, play, words_of

pytestmark = pytest.mark.browser


def trace_of(page: Page) -> str:
    return page.locator(".live-line").get_attribute("d") or ""


def test_measuring_hides_the_pitch_until_the_note_ends_and_then_shows_this_note(
    live_page: Page,
) -> None:
    live_page.evaluate("view.setNames(() => ({ note: 'B4', pitch: 'B4 +5 cents' }))")
    live_page.evaluate("view.setWatching(false)")

    def is_hidden() -> bool:
        shown = [words_of(live_page, part) for part in ("name", "within")]
        return (
            shown == ["", ""]
            and trace_of(live_page) == ""
            and not live_page.locator(".live-pen > *").count()
        )

    live_page.evaluate(FEED, hold(5.0, 0, 1))
    assert is_hidden()
    assert [words_of(live_page, part) for part in ("state", "number", "steady")] == [
        "Measuring", "steady", "spread 1.1 cents",
    ]  # fmt: skip
    live_page.evaluate(FEED, hold(None, 1, 2))
    assert [words_of(live_page, part) for part in ("state", "number", "name")] == [
        "Last held", "+5 sharp", "Sounds as B4 +5 cents",
    ]  # fmt: skip
    first = trace_of(live_page)
    assert first.count("L") == 29

    # The next note: its pitch is lost for a moment, and the recorder still hears it.
    live_page.evaluate("view.setSounding(true)")
    live_page.evaluate(FEED, play(lambda t: -20.0 if not 2.4 < t < 3 else None, 2, 2.9))
    assert is_hidden()
    live_page.get_by_role("button", name="Freeze").tap()  # takes hold when the note has ended
    live_page.evaluate("view.setSounding(false)")
    live_page.evaluate(FEED, hold(None, 2.9, 3.5))
    assert [words_of(live_page, part) for part in ("state", "number")] == ["Frozen", "−20 flat"]
    assert 0 < trace_of(live_page).count("L") < first.count("L")  # of this note alone
    live_page.evaluate(FEED, hold(40.0, 3.5, 4))
    assert words_of(live_page, "number") == "−20 flat"


def test_watch_shows_the_note_that_sounds_at_once(live_page: Page) -> None:
    live_page.evaluate("view.setWatching(false)")
    live_page.evaluate(FEED, hold(5.0, 0, 1))
    live_page.evaluate("view.setWatching(true)")
    live_page.evaluate(FEED, hold(5.0, 1, 1.1))

    assert words_of(live_page, "number") == "+5 sharp"
    assert trace_of(live_page) != ""


def test_without_a_target_it_names_what_sounds_and_draws_nothing(live_page: Page) -> None:
    live_page.evaluate(
        "view.setNames(() => ({ note: 'E quarter-sharp 3', pitch: 'E quarter-sharp 3' }))"
    )
    live_page.evaluate("view.setTarget({ hz: null })")
    live_page.evaluate(FEED, hold(5.0, 0, 1))

    assert words_of(live_page, "number") == "E quarter-sharp 3"
    assert not live_page.locator(".live-trace").is_visible()
    assert not live_page.locator(".live-ranges").is_visible()
