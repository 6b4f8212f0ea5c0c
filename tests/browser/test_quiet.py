"""Pages stay at home: nothing is asked of another machine, and no page breaks its own policy.

Every page is watched while `test_access` reads it; here stands that a fault would be noticed.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Error

from tests.browser.conftest import Visit
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP

pytestmark = pytest.mark.browser


def test_a_page_that_did_would_be_noticed(visit: Visit, looked_at: Site) -> None:
    visitor = visit(looked_at, size=DESKTOP)
    page = visitor.open("/")

    page.evaluate(
        """() => new Promise((resolve) => {
            const picture = new Image();
            picture.onerror = () => setTimeout(resolve, 100);
            picture.src = "http://127.0.0.1:9/far-away.png";
        })"""
    )

    assert any("policy: img-src" in fault for fault in visitor.faults)
    with pytest.raises(Error):  # no policy forbids to go there
        page.goto("http://elsewhere.example/")
    assert any(fault.startswith("failed: http://elsewhere.example/") for fault in visitor.faults)
    visitor.faults.clear()
