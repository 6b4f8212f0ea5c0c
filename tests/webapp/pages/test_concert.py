"""The page of the concert: all of it on one page, no microphone, and what a change would mean."""

from __future__ import annotations

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.notebook.pieces.filling import add_typed_piece, mark_a_page
from webapp.notebook.store.notebook import Notebook


@pytest.fixture
def piece(notebook: Notebook, clarinet: int) -> int:
    piece = add_typed_piece(notebook, clarinet, text='12: D5 -50 (1/4) "1/4=60", E5 +25 | 13: F5')
    mark_a_page(notebook, piece, "D5 -50")
    return piece


def test_pages_sheet_and_warm_up_stand_on_one_page_without_a_microphone(
    client: Browser, piece: int
) -> None:
    page = client.get(f"/pieces/{piece}/concert/")
    assert [each.text for each in page.find("h2")] == [
        "Warm up", "Sheet", "Another tuning or tempo",
    ]  # fmt: skip
    assert len(page.find("image")) == 1
    scripts = " ".join(each.attributes.get("src", "") for each in page.find("script"))
    assert "microphone" not in scripts
    assert "recorder" not in scripts
    answer = client.fetch(f"/pieces/{piece}/concert/concert.pdf")
    assert (answer.mimetype, answer.data[:5]) == ("application/pdf", b"%PDF-")


def test_a_new_a_and_tempo_are_told_and_nonsense_is_refused(client: Browser, piece: int) -> None:
    page = client.get(f"/pieces/{piece}/concert/?a_hz=443&beats=240")
    assert "11.8 cents higher" in page.text  # 1200 log2(443 / 440)
    assert "in tune within 20 cents instead of 10" in page.text
    wrong = client.get(f"/pieces/{piece}/concert/?a_hz=high")
    assert wrong.status == 422
    assert "Give from 380 to 480 Hz" in wrong.text
    assert client.get("/pieces/99/concert/").status == 404
