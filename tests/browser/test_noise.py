"""The page says of steady noise that it is no take, and goes on to the next note."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.played_microphone import play, rest, take, tone
from tests.browser.recording_takes import PATIENCE_MS
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


ROOM, FAN = 10 ** (-75 / 20), 10 ** (-48 / 20)


def _with_noise(sound: NDArray[np.float64], level: float) -> NDArray[np.float64]:
    return sound + level * np.random.default_rng(3).standard_normal(len(sound))


def test_the_page_says_that_noise_is_not_kept_and_keeps_the_note_after_it(
    written_in: Site, visit: Visit, rows: Filled
) -> None:
    page = visit(written_in, is_played_to=True, size=DESKTOP).open(f"/fingerings/{rows.base}")

    page.get_by_role("button", name="Record", exact=True).click()
    # a fan starts after 1.5 s and runs on
    play(page, [_with_noise(rest(1.5), ROOM), _with_noise(rest(6.0), FAN)])

    expect(page.locator("[data-recorder-state]")).to_have_text(
        "That was noise without a tone, and is not kept. Play a note.", timeout=PATIENCE_MS
    )
    assert page.locator("[data-take]").count() == 0
    play(page, [_with_noise(take(tone(440.0)), FAN)])
    expect(page.locator("[data-take].is-measured")).to_have_count(1, timeout=PATIENCE_MS)
