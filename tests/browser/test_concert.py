"""The page of the concert on a tablet: it opens without network, and a pedal goes through it."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.test_access import VIEWS_THINNED, View, check_everywhere
from tests.browser.test_offline import Machine, machine, without_the_server
from tests.browser.visiting import TABLET
from tests.webapp.logging_rows import Filled
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page
from webapp.notebook.opening import open_notebook

pytestmark = pytest.mark.browser

__all__ = ["machine"]

DECODED = """async () => { const [one] = document.querySelectorAll('.own-page image');
    const seen = new Image(); seen.src = one.href.baseVal; await seen.decode();
    return seen.naturalHeight; }"""
AT_TOP = "() => Math.abs(document.querySelector('.concert-page').getBoundingClientRect().top) < 2"


@VIEWS_THINNED
def test_it_opens_without_network_and_a_pedal_goes_through_it(
    visit: Visit, machine: Machine, filled_folder: tuple[Path, Filled], tmp_path: Path,
    views: Sequence[View],
) -> None:  # fmt: skip
    source, rows = filled_folder
    folder = tmp_path / "notebook"
    shutil.copytree(source, folder)
    with closing(open_notebook(folder)) as notebook:
        piece = add_typed_piece(notebook, rows.soprano)
        mark_a_page(notebook, piece, "D5 -50")
    visitor = visit(machine.start(folder), size=TABLET, has_workers=True)
    page = visitor.open(f"/pieces/{piece}/concert/")
    expect(page.get_by_text("lies on this device now")).to_be_visible()
    assert check_everywhere(page, views) == {}
    page.set_viewport_size({"width": TABLET["width"], "height": TABLET["height"]})
    page.emulate_media(color_scheme="light")
    machine.stop()

    page.reload()

    expect(page.get_by_text("lies on this device now")).to_be_visible()
    assert page.evaluate(DECODED) == 2200
    page.keyboard.press("PageDown")  # the warm-up
    page.keyboard.press("PageDown")
    page.wait_for_function(AT_TOP)
    without_the_server(visitor)
