"""The tuning notes on the page of a practice: one touch each.

Truth: the pitch of the note that is played, by formula.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit
from tests.browser.played_microphone import play, take, tone
from tests.browser.serving import Site
from tests.browser.standing import begin
from tests.browser.test_access import VIEWS, check_everywhere
from tests.browser.visiting import PHONE
from tests.webapp.logging_rows import Filled
from tests.webapp.playing import sounding_hz
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import open_practice

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
G4 = 6700.0


def test_one_touch_records_a_tuning_note_and_lets_go_of_the_microphone(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    practice = begin(folder, rows)
    page = visit(written_in, is_played_to=True, size=PHONE).open(f"/practice/{practice}")

    page.get_by_role("button", name="Record G4").click()
    play(page, [take(tone(sounding_hz(G4 + 5)))])
    state = page.locator("[data-tuning-state]")
    expect(state).to_have_text("tuning note G4: +5.0 ± 0.1 cents", timeout=PATIENCE_MS)
    expect(page.get_by_role("button", name="Record G4")).to_have_attribute("aria-pressed", "false")

    assert check_everywhere(page, VIEWS[1:]) == {}

    page.get_by_role("link", name="Show the new numbers").click()
    expect(page.locator(".tuning-number")).to_have_text("+5.0")
    with closing(open_notebook(folder)) as notebook:
        reference = open_practice(notebook, practice).reference
    assert reference is not None
    assert [note.written.canonical for note in reference.notes] == ["G4"]


def test_without_scripts_the_upload_is_there_alone(
    written_in: Site, visit: Visit, folder: Path, rows: Filled
) -> None:
    practice = begin(folder, rows)
    page = visit(written_in, has_scripts=False).open(f"/practice/{practice}")
    assert not page.locator("[data-tuning-recorder]").is_visible()
    page.get_by_text("Give it a tuning note").click()
    expect(page.get_by_label("Recording of it")).to_be_visible()
