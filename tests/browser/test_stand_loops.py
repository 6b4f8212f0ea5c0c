"""A loop at the stand: cut at its end and not at its changes, kept, and shown as measured.

The loop is made by formula; E5 and F5 written on a B-flat soprano sound two semitones lower.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.analysis.performance.loops import RATE, Loop, make_loop
from tests.browser.conftest import Visit
from tests.browser.played_microphone import RATE_HZ, play, rest, take
from tests.browser.serving import Site
from tests.browser.standing import HEARD_MS, takes, to_the_stand
from tests.browser.visiting import PHONE
from tests.webapp.logging_rows import Filled
from tests.webapp.looping import ENDS
from tests.webapp.playing import sounding_hz
from webapp.notebook.loops.loops import open_loops
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import PracticeDraft, start_practice
from webapp.notebook.practice.practice_targets import add_loop

pytestmark = pytest.mark.browser

E5_CENTS = 7600.0


def test_a_loop_is_recorded_as_one_and_its_figure_stands_on_the_page(
    written_in: Site, visit: Visit, rows: Filled, folder: Path
) -> None:
    with closing(open_notebook(folder)) as notebook:
        practice = start_practice(notebook, rows.soprano, PracticeDraft())
        add_loop(notebook, practice, ENDS)
    page = to_the_stand(visit(written_in, is_played_to=True, size=PHONE), practice)
    ways = page.locator("[data-loop-ways]")
    expect(ways).to_have_text("Not measured")
    expect(page.locator(".stand-pair svg")).to_have_count(2)
    page.get_by_role("button", name="Listen").click()
    # heard at another rate than it is made at, and higher by as much
    lower_hz = sounding_hz(E5_CENTS) * RATE / RATE_HZ
    loop = Loop(lower_hz, up_s=0.02, down_s=0.06, rate_hz=4.0, count=10)
    played = [take(make_loop(loop, seed).samples) for seed in (3, 4)]
    play(page, [*played, rest(1.0)])
    expect(takes(page)).to_have_count(2, timeout=HEARD_MS)
    expect(ways).to_contain_text("Up ", timeout=HEARD_MS)
    expect(page.locator(".stand-take-number").first).to_contain_text("a second")
    with closing(open_notebook(folder)) as notebook:
        (pair,) = open_loops(notebook, rows.soprano).pairs
    assert (pair.figure.count, pair.loops[0].change_count) == (2, 10)
