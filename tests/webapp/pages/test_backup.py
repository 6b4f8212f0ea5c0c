"""The button that saves a backup."""

import io
import threading
import zipfile
from contextlib import closing
from pathlib import Path
from typing import IO

import pytest

from tests.webapp.browsing import SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import snapshot
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping import backing_up, backup
from webapp.notebook.safekeeping.backup import BackupReport, make_backup
from webapp.notebook.safekeeping.checking import Report
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import BackupRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.pages import backup as pages_backup


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """A small backup is handed out at once, however busy the machine is."""
    monkeypatch.setattr(pages_backup, "PATIENCE_S", 60.0)


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


class SlowPacking:
    """Packing that stops half way until it is let go."""

    def __init__(self) -> None:
        self.is_half_way, self.go_on = threading.Event(), threading.Event()

    def make(self, notebook: Notebook, target: IO[bytes], *, report: Report) -> BackupReport:
        self.is_half_way.set()
        while not self.go_on.wait(0.001):
            report(1, 2)
        return make_backup(notebook, target, report=report)


@pytest.fixture
def packing(monkeypatch: pytest.MonkeyPatch) -> SlowPacking:
    slow = SlowPacking()
    monkeypatch.setattr(pages_backup, "PATIENCE_S", 0.0)
    monkeypatch.setattr(backing_up, "make_backup", slow.make)
    return slow


def test_a_backup_that_takes_long_is_made_in_the_background_and_fetched_once(
    filled: tuple[Notebook, Filled], filled_client: Browser, packing: SlowPacking
) -> None:
    before = snapshot(filled[0])
    page = filled_client.get("/about")
    answer = filled_client.send(page, page.form("/backup"))
    assert (answer.status_code, answer.headers["Location"]) == (303, "/backup/progress")
    assert packing.is_half_way.wait(60)
    while "50 in 100" not in (looked := filled_client.fetch("/backup/progress")).text:
        assert "Refresh" in looked.headers
    packing.go_on.set()
    while "Refresh" in (looked := filled_client.fetch("/backup/progress")).headers:
        assert looked.status_code == 200
    page = filled_client.get("/backup/progress")
    answer = filled_client.send(page, page.form("/backup/file"))
    assert (answer.status_code, answer.mimetype) == (200, "application/zip")
    with zipfile.ZipFile(io.BytesIO(answer.data)) as packed:
        assert packed.testzip() is None
    answer.close()
    assert filled_client.send(page, page.form("/backup/file")).status_code == 303
    assert "No backup is being made" in filled_client.fetch("/backup/progress").text
    assert snapshot(filled[0]) == before, "nothing is left behind"


def test_a_backup_can_be_stopped_from_its_page(
    filled: tuple[Notebook, Filled], filled_client: Browser, packing: SlowPacking
) -> None:
    before = snapshot(filled[0])
    page = filled_client.get("/about")
    filled_client.send(page, page.form("/backup"))
    assert packing.is_half_way.wait(60)
    page = filled_client.get("/backup/progress")
    assert filled_client.send(page, page.form("/backup/give-up")).status_code == 303
    assert "No backup is being made" in filled_client.fetch("/backup/progress").text
    results: ResultCache = filled_client.client.application.extensions["result_cache"]
    results.stop(60)
    assert snapshot(filled[0]) == before, "nothing is left of it"
