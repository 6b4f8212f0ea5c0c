"""/token.json, and what it guards: a take needs a fresh token of its own notebook."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.pages.sending import error_of, json_of, send
from tests.webapp.snapshots import snapshot
from tests.webapp.tones import tone_wav
from webapp.app import create_app
from webapp.notebook.store.notebook import Notebook


@pytest.mark.parametrize("forged", ["", "forged"])
def test_a_take_needs_a_token(
    filled: tuple[Notebook, Filled], filled_client: Browser, forged: str
) -> None:
    notebook, rows = filled
    before = snapshot(notebook)
    path = f"/fingerings/{rows.base}/takes.json"
    answer = send(filled_client, path, tone_wav(505.0), csrf_token=forged)
    assert answer.status_code == 400
    assert error_of(answer)["kind"] == "token"
    assert snapshot(notebook) == before


def test_another_page_can_neither_send_a_take_nor_fetch_a_token(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    before = snapshot(notebook)
    foreign = {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1:9999"}
    path = f"/fingerings/{rows.base}/takes.json"
    refused = (
        send(filled_client, path, tone_wav(505.0), headers=foreign),
        filled_client.fetch("/token.json", foreign),
    )
    for answer in refused:
        assert answer.status_code == 403
        assert error_of(answer)["kind"] == "foreign"
    assert snapshot(notebook) == before


def test_a_token_comes_fresh_and_is_kept_nowhere(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, _ = filled
    before = snapshot(notebook)
    answer = filled_client.fetch("/token.json", SAME_ORIGIN)
    told = json_of(answer)
    assert set(told) == {"csrf_token", "notebook", "now"}
    assert "no-store" in answer.headers["Cache-Control"]
    now = datetime.fromisoformat(told["now"])
    assert abs(datetime.now(UTC) - now) < timedelta(minutes=1)
    assert snapshot(notebook) == before


def test_notebooks_at_one_address_are_told_apart_and_one_stays_itself(
    filled: tuple[Notebook, Filled], notebook: Notebook
) -> None:
    def mark_of(which: Notebook) -> str:
        return str(json_of(Browser(create_app(which)).fetch("/token.json"))["notebook"])

    first, second = mark_of(filled[0]), mark_of(notebook)
    assert first != second
    assert mark_of(filled[0]) == first
    moved = replace(notebook, folder=filled[0].folder)
    assert mark_of(moved) == first


def test_every_page_names_its_notebook(filled_client: Browser) -> None:
    told = json_of(filled_client.fetch("/token.json"))
    for path in ("/", "/nothing-there"):
        (meta,) = filled_client.get(path).find("meta", name="notebook")
        assert meta.attributes["content"] == told["notebook"]
