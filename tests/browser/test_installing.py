"""The notebook as an app of its own.

Truth: chromium's own judgement, asked by its DevTools protocol (Page.getAppManifest,
Page.getInstallabilityErrors).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.tools import CHROMIUM_FLAGS, find_chromium

pytestmark = pytest.mark.browser

# The middle of the icon: paper in the lower half, ink in the upper; ink at the edge.
READ_DOTS = """async ([address, places]) => {
    const picture = await createImageBitmap(await (await fetch(address)).blob());
    const canvas = new OffscreenCanvas(picture.width, picture.height);
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(picture, 0, 0);
    return places.map(([x, y]) =>
        [...pen.getImageData(x * picture.width, y * picture.height, 1, 1).data]);
}"""
INK, PAPER, NOTHING = [29, 27, 24, 255], [251, 250, 246, 255], [0, 0, 0, 0]


@pytest.fixture
def lasting_page(browser: Browser, looked_at: Site, tmp_path: Path) -> Iterator[Page]:
    """The start page in a profile that stays: in a passing one nothing can be installed."""
    context = browser.browser_type.launch_persistent_context(
        tmp_path / "profile", executable_path=find_chromium(is_whole=True), args=CHROMIUM_FLAGS
    )
    page = context.pages[0]
    page.goto(looked_at.origin)
    yield page
    context.close()


def test_chromium_finds_nothing_that_hinders_installing_and_would_say_so(
    lasting_page: Page,
) -> None:
    session = lasting_page.context.new_cdp_session(lasting_page)
    manifest = session.send("Page.getAppManifest")
    assert manifest["url"].endswith("/app.webmanifest")
    assert manifest["errors"] == []
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []

    lasting_page.locator("link[rel=manifest]").evaluate("link => link.remove()")
    found: list[str] = []
    for _ in range(300):  # frames in which chromium may notice
        errors = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
        found = [each["errorId"] for each in errors]
        if found:
            break
        lasting_page.evaluate("new Promise(requestAnimationFrame)")
    assert "no-manifest" in found


CORNERS = {
    "icon-192.png": NOTHING,
    "icon-512.png": NOTHING,
    "maskable-512.png": INK,
    "touch-180.png": INK,
}


def test_the_icons_show_the_half_inked_ring(visit: Visit, looked_at: Site) -> None:
    page = visit(looked_at).open("/about")
    places = [[0.01, 0.01], [0.5, 0.4], [0.5, 0.6], [0.5, 0.22], [0.5, 0.9]]
    for name, corner in CORNERS.items():
        dots = page.evaluate(READ_DOTS, [f"/static/icons/{name}", places])
        assert dots == [corner, INK, PAPER, PAPER, INK], name
