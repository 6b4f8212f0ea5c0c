"""The page says of steady noise that it is no take, and goes on to the next note."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import expect

from tests.browser.conftest import Launch, Visit
from tests.browser.microphones import RATE_HZ, playing, write_notes
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def _write_fan_and_note(path: Path) -> None:
    """A fan starts after 1.5 s and runs on; a note is played in it at 7.5 s."""
    samples = write_notes(path, [440.0], first_s=7.5)
    fan = 10 ** (-48 / 20) * np.random.default_rng(3).standard_normal(len(samples))
    fan[: round(1.5 * RATE_HZ)] = 0.0
    soundfile.write(path, samples + fan, RATE_HZ, subtype="PCM_16")


def test_the_page_says_that_noise_is_not_kept_and_keeps_the_note_after_it(
    written_in: Site, visit: Visit, launch: Launch, rows: Filled, tmp_path: Path
) -> None:
    path = tmp_path / "fan.wav"
    _write_fan_and_note(path)
    page = visit(written_in, browser=launch(*playing(path)), size=DESKTOP).open(
        f"/fingerings/{rows.base}"
    )

    page.get_by_role("button", name="Record", exact=True).click()

    expect(page.locator("[data-recorder-state]")).to_have_text(
        "That was noise without a tone, and is not kept. Play a note.", timeout=15_000
    )
    assert page.locator("[data-take]").count() == 0
    expect(page.locator("[data-take].is-measured")).to_have_count(1, timeout=20_000)
