"""The recording of a take plays in the page, and the player can jump within it."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser

# The filled notebook's take is 0.7 s of tone between 0.1 s of silence on either side.
DURATION_S = 0.9

PLAY_FROM_THE_MIDDLE = """async (audio) => {
    const hear = (name) => new Promise((resolve, reject) => {
        audio.addEventListener(name, resolve, { once: true });
        audio.addEventListener("error", () => reject(audio.error.message), { once: true });
    });
    const loaded = hear("loadedmetadata");
    audio.preload = "auto";
    audio.muted = true;
    audio.load();
    await loaded;
    const sought = hear("seeked");
    audio.currentTime = 0.5;
    await sought;
    const from = audio.currentTime;
    const ended = hear("ended");
    await audio.play();
    await ended;
    return [audio.duration, from, audio.currentTime];
}"""


@pytest.mark.parametrize("path", ["/fingerings/{base}", "/takes/{take}"])
def test_a_clip_loads_seeks_and_plays(
    visit: Visit, looked_at: Site, rows: Filled, path: str
) -> None:
    page = visit(looked_at).open(path.format_map(vars(rows)))

    duration_s, from_s, to_s = page.locator("audio").evaluate(PLAY_FROM_THE_MIDDLE)

    assert duration_s == pytest.approx(DURATION_S, abs=0.01)
    assert from_s == pytest.approx(0.5, abs=0.01)
    assert to_s == pytest.approx(DURATION_S, abs=0.05)


def test_a_player_may_ask_for_a_part_of_a_clip(visit: Visit, looked_at: Site, rows: Filled) -> None:
    page = visit(looked_at).open(f"/takes/{rows.take}")

    status, span, size = page.evaluate(
        """async (address) => {
            const part = await fetch(address, { headers: { Range: "bytes=44-143" } });
            const bytes = await part.arrayBuffer();
            return [part.status, part.headers.get("Content-Range"), bytes.byteLength];
        }""",
        f"/takes/{rows.take}/clip",
    )

    # RFC 9110, section 15.3.7 (206 Partial Content).
    assert (status, size) == (206, 100)
    assert span.startswith("bytes 44-143/")
