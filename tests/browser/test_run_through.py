"""A run-through recorded on its page: counted in, unmistakable while it listens, kept as a file."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.places import PIECE
from tests.browser.played_microphone import play, take, tone
from tests.browser.serving import Site
from tests.browser.test_access import VIEWS, check_everywhere
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

FILES = "[...document.querySelector('#clip').files].map((file) => file.name)"


def test_a_passage_is_counted_in_recorded_and_ready_to_send(
    visit: Visit, looked_at: Site, rows: Filled
) -> None:
    page = visit(looked_at, is_played_to=True).open(f"{PIECE}/run-throughs/on/{rows.soprano}")
    page.fill("#tempo", "600")
    page.get_by_role("button", name="Record", exact=True).tap()
    expect(page.locator("[data-run-state]")).to_have_text("Recording. Play.")
    assert page.locator(".is-listening").count() == 1
    assert check_everywhere(page, VIEWS[1:]) == {}
    play(page, [take(tone(440.0))])
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator("[data-run-state]")).to_contain_text("Send it to find the notes.")
    assert page.locator(".is-listening").count() == 0
    assert page.evaluate(FILES) == ["run-through.wav"]
    assert check_everywhere(page, VIEWS[1:]) == {}
