"""Pages stay at home: nothing is asked of another machine, and no page breaks its own policy."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Visit
from tests.browser.places import EMPTY_PLACES, PLACES
from tests.browser.serving import Site
from tests.browser.visiting import DESKTOP
from tests.webapp.logging_rows import Filled

pytestmark = pytest.mark.browser


def test_no_page_leaves_the_origin_or_reports_an_error(
    visit: Visit, looked_at: Site, empty_looked_at: Site, rows: Filled
) -> None:
    faults = {}
    for site, places in ((looked_at, PLACES), (empty_looked_at, EMPTY_PLACES)):
        visitor = visit(site, size=DESKTOP, has_one_tab=True)
        for name, go in places.items():
            go(visitor, rows)
            faults[name] = list(visitor.faults)
            visitor.faults.clear()

    assert {name: found for name, found in faults.items() if found} == {}


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
    visitor.faults.clear()
