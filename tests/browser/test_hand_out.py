"""A hand-out opened as the file it is: searched, read without scripts, and clean by axe's rules."""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from analysis.pitch import NoteNames
from tests.browser.test_access import RUN_AXE
from tests.webapp.logging_rows import Filled
from webapp.notebook.exchange.hand_outs import HandOutHeading, collect_hand_out
from webapp.notebook.exchange.selecting import Selection
from webapp.notebook.opening import open_notebook
from webapp.presenting.hand_out import render_hand_out

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def file(filled_folder: tuple[Path, Filled], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hand-out with recordings."""
    folder = tmp_path_factory.mktemp("hand-out")
    shutil.copytree(filled_folder[0], folder / "notebook")
    heading = HandOutHeading("For a friend", "A. Player", has_recordings=True)
    with closing(open_notebook(folder / "notebook")) as notebook:
        chosen = Selection(filled_folder[1].soprano)
        made = collect_hand_out(notebook, chosen, heading, names=NoteNames.ENGLISH)
        (folder / "page.html").write_bytes(render_hand_out(made))
    return folder / "page.html"


def test_it_is_searched_asks_for_nothing_and_axe_finds_nothing_to_mend(
    browser: Browser, file: Path
) -> None:
    asked: list[str] = []
    with closing(browser.new_context(viewport={"width": 390, "height": 844})) as context:
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto(file.as_uri())
        cards = page.get_by_role("article")
        expect(cards).to_have_count(5)
        page.get_by_label("Search").fill("c sharp first")
        expect(cards).to_have_count(1)
        expect(page.get_by_role("status")).to_have_text("1 of 5")
        page.get_by_label("Search").fill("")
        expect(cards).to_have_count(5)
        page.locator("summary").click()
        page.evaluate(Axe().axe_script)
        found = page.evaluate(RUN_AXE)
        assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert {each.partition(":")[0] for each in asked} <= {"file", "data"}


def test_without_scripts_all_of_it_is_there(browser: Browser, file: Path) -> None:
    with closing(browser.new_context(java_script_enabled=False)) as context:
        page = context.new_page()
        page.goto(file.as_uri())
        expect(page.get_by_role("article")).to_have_count(5)
        expect(page.get_by_label("Search")).to_be_hidden()
        assert page.locator("audio").count() == 1
