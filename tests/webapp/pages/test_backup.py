"""The button that saves a backup."""

import io
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import snapshot
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import backup
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import BackupRefused
from webapp.notebook.store.notebook import Notebook


def test_the_button_on_the_about_page_hands_out_a_backup_that_can_be_restored(
    filled: tuple[Notebook, Filled], filled_client: Browser, tmp_path: Path
) -> None:
    page = filled_client.get("/about")
    before = snapshot(filled[0])
    answer = filled_client.send(page, page.form("/backup"))
    assert (answer.status_code, answer.mimetype) == (200, "application/zip")
    assert "attachment; filename=quartervent-20" in answer.headers["Content-Disposition"]
    assert "no-cache" in answer.headers["Cache-Control"]
    with zipfile.ZipFile(io.BytesIO(answer.data)) as packed:
        assert packed.testzip() is None
    assert snapshot(filled[0]) == before, "nothing is left behind"
    path = tmp_path / "b.zip"
    path.write_bytes(answer.data)
    with closing(open_notebook(tmp_path / "new")) as new:
        restore_backup(new, path)
        assert len(list_instruments(new)) == 2


def test_nobody_else_can_ask_for_it(filled_client: Browser) -> None:
    page = filled_client.get("/about")
    form = page.form("/backup")
    foreign = {**SAME_ORIGIN, "Origin": "http://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
    assert filled_client.send(page, form, headers=foreign).status_code == 403
    assert filled_client.send(page, form, without=["csrf_token"]).status_code == 400
    assert filled_client.fetch("/backup").status_code == 405


def test_a_backup_that_cannot_be_made_is_said_on_a_page(
    filled: tuple[Notebook, Filled], filled_client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise BackupRefused("This one is kept by a server of its own.")

    monkeypatch.setattr(backup, "copy_database", refuse)
    before = snapshot(filled[0])
    page = filled_client.get("/about")
    answer = filled_client.send(page, page.form("/backup"))
    assert answer.status_code == 422
    assert "kept by a server of its own" in answer.get_data(as_text=True)
    assert snapshot(filled[0]) == before
