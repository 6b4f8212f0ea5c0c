"""Takes recorded in the page of a fingering, and what the notebook has of them."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Page, expect

from tests.browser.microphones import RATE_HZ as DEVICE_RATE_HZ
from tests.browser.played_microphone import RATE_HZ, play, take, tone
from tests.browser.visiting import Visitor
from tests.webapp.logging_rows import Filled
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.opening import open_notebook
from webapp.notebook.takes.takes import find_clip

# The filled notebook's base is C#5 +25 on a B-flat soprano: 225 cents above A4 = 440 Hz.
TARGET_HZ = 440 * 2 ** (225 / 1200)


CENTS = (4.0, 9.0, -6.0)


PLAYED_HZ = [TARGET_HZ * 2 ** (cents / 1200) for cents in CENTS]


NOTES = [take(tone(hz, seed=seed)) for seed, hz in enumerate(PLAYED_HZ)]
"""The same for the microphone that a test plays to: each makes one take."""


PATIENCE_MS = 60_000


AWAY = ("ERR_CONNECTION_REFUSED", "ERR_CONNECTION_RESET", "ERR_CONTENT_LENGTH_MISMATCH")
"""An answer that is cut off has less than it announced."""


def start_recording(page: Page) -> None:
    """Press the button."""
    page.get_by_role("button", name="Record", exact=True).click()


def rows_of(page: Page) -> list[str]:
    """The takes of this visit, newest first."""
    return [each.inner_text() for each in page.locator("[data-take]").all()]


def forgive_absence(visitor: Visitor) -> None:
    """The server was away on purpose: chromium says so, and nothing else may be wrong."""
    visitor.faults[:] = [each for each in visitor.faults if not any(name in each for name in AWAY)]


def wait_for_line(page: Page, words: str) -> None:
    """Wait for the line about waiting takes."""
    expect(page.locator(".waiting-takes summary")).to_have_text(words, timeout=PATIENCE_MS)


def clip_of(folder: Path, take_id: int) -> NDArray[np.float32]:
    """The samples of a take, read by libsndfile."""
    with closing(open_notebook(folder)) as notebook:
        _, path = find_clip(notebook, take_id)
        samples, rate_hz = soundfile.read(path, dtype="float32")
    assert rate_hz in (DEVICE_RATE_HZ, RATE_HZ)
    return np.asarray(samples, dtype=np.float32)


def place_of(part: NDArray[np.float32], whole: NDArray[np.float32]) -> int:
    """Where a part of a sound lies in it, by normalised correlation."""
    from scipy.signal import fftconvolve

    key = part[9000:15000]
    match = fftconvolve(whole, key[::-1], "valid")
    power = fftconvolve(whole**2, np.ones(len(key)), "valid")
    return int(np.argmax(match / np.sqrt(np.maximum(power, 1e-9)))) - 9000


def record_while_away(visitor: Visitor, rows: Filled, count: int = 1) -> Page:
    """Play notes for a fingering and keep what is sent from reaching the notebook."""
    page = visitor.open(f"/fingerings/{rows.base}")
    page.route("**/takes.json", lambda route: route.abort("connectionrefused"))
    start_recording(page)
    play(page, NOTES[:count])
    expect(page.locator("[data-take]")).to_have_count(count, timeout=PATIENCE_MS)
    expect(page.locator("[data-take]").last).to_contain_text("Waits", timeout=PATIENCE_MS)
    return page


def wait_until_sent(page: Page) -> None:
    """Wait until nothing waits in the browser."""
    page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/js/sound/outbox.js");
            const outbox = await Outbox.open();
            while ((await outbox.list()).length) {
                await new Promise((done) => setTimeout(done, 50));
            }
        }"""
    )


def count_takes(folder: Path, fingering_id: int) -> int:
    """How many takes a fingering has."""
    with closing(open_notebook(folder)) as notebook:
        return len(open_fingering(notebook, fingering_id).takes)


def takes_of(page: Page) -> list[int]:
    """The numbers of the takes of this visit, oldest first."""
    links = [each.get_attribute("href") or "" for each in page.locator("[data-take] a").all()]
    return [int(link.rpartition("/")[2]) for link in reversed(links)]
