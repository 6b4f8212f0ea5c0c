"""Errors as pages, and limits. Truth: RFC 9110 for statuses and the headers they ask for."""

import logging
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser, Page
from tests.webapp.logging_rows import Filled, add_clarinet
from webapp.app import create_app
from webapp.guards import uploads
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.notebook import Notebook

NOTE = "my own private note"


def break_start_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the start page fail in the way a fault of ours would."""

    def fail(_: object) -> None:
        raise ValueError(f"unforeseen, with {NOTE} inside")

    monkeypatch.setattr("webapp.pages.start.open_overview", fail)


def test_an_unforeseen_error_shows_no_trace_path_or_note(
    notebook: Notebook,
    client: Browser,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    break_start_page(monkeypatch)
    with caplog.at_level(logging.ERROR):
        page = client.get("/")
    assert page.status == 500
    assert page.find("h1")[0].text == "Something went wrong"
    for secret in (NOTE, "Traceback", "ValueError", ".py", str(notebook.folder)):
        assert secret not in page.html
    assert "GET / failed" in caplog.text
    assert "Traceback" in caplog.text
    assert NOTE in caplog.text, "the log has what the page keeps back"


def test_the_error_page_needs_no_database(
    notebook: Notebook, client: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OperationalError("SELECT 1", {}, Exception("disk I/O error"))

    monkeypatch.setattr(type(notebook.database), "reading", fail)
    page = client.get("/")
    assert page.status == 500
    assert "SELECT" not in page.html


@pytest.mark.parametrize(
    "path",
    [
        "/nothing-here",
        "/instruments/1",
        "/instruments/1/edit",
        "/instruments/1/fingerings/new",
        "/instruments/1/chart",
        "/instruments/1/chart.pdf",
        "/instruments/1/chart.pdf?paper=folio",
        "/fingerings/1",
        "/fingerings/1/edit",
        "/takes/1",
        "/takes/1/clip",
        "/search?instrument=1",
        "/fonts/none.ttf",
        "/fonts/..%2f..%2fsession.key",
        "/static/../notebook.py",
        "/static/%2e%2e/app.py",
        f"/fingerings/{2**63}",  # one beyond the largest row number of SQLite
        f"/instruments/{10**40}",
        "/fingerings/-1",
        "/fingerings/abc",
    ],
)
def test_what_is_not_there_is_404_with_a_page_to_read(client: Browser, path: str) -> None:
    page = client.get(path)
    assert page.status == 404
    assert page.find("h1")[0].text == "Not in this notebook"
    assert page.find("a", href="/")


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("POST", "/", {"GET", "HEAD", "OPTIONS"}),
        ("DELETE", "/preferences", {"GET", "HEAD", "OPTIONS", "POST"}),
        ("GET", "/bin/empty", {"OPTIONS", "POST"}),
        ("GET", "/bin/fingering/1", {"OPTIONS", "POST"}),
        ("GET", "/bin/fingering/1/restore", {"OPTIONS", "POST"}),
        ("GET", "/fingerings/1/takes", {"OPTIONS", "POST"}),
        ("POST", "/search", {"GET", "HEAD", "OPTIONS"}),
        ("POST", "/takes/1", {"GET", "HEAD", "OPTIONS"}),
        ("PUT", "/instruments/1/chart.pdf", {"GET", "HEAD", "OPTIONS"}),
    ],
)
def test_the_wrong_method_is_405_and_names_the_right_ones(
    client: Browser, method: str, path: str, allowed: set[str]
) -> None:
    answer = client.open(path, SAME_ORIGIN, method=method)
    assert answer.status_code == 405
    assert set(answer.headers["Allow"].split(", ")) == allowed
    assert Page(answer).find("h1")[0].text == "Not this way"


def test_a_body_over_the_limit_is_413_with_a_page_to_read(
    client: Browser,
) -> None:
    client.client.application.config["MAX_CONTENT_LENGTH"] = 2_000
    page = client.get("/instruments/new")
    answer = client.send(page, page.form(), fields={"notes": "x" * 3_000})
    assert answer.status_code == 413
    assert "larger than the notebook takes" in Page(answer).text
    assert "your text is still in the form" in Page(answer).text


def test_text_over_its_limit_is_413_as_well(client: Browser) -> None:
    client.client.application.config["MAX_FORM_MEMORY_SIZE"] = 2_000
    page = client.get("/instruments/new")
    answer = client.send(page, page.form(), fields={"notes": "x" * 3_000})
    assert answer.status_code == 413
    assert "larger than the notebook takes" in Page(answer).text


def test_the_limits_of_the_server_and_of_the_pages_agree(client: Browser) -> None:
    config = client.client.application.config
    assert config["MAX_CONTENT_LENGTH"] == uploads.BODY_LIMIT_BYTES
    assert config["MAX_FORM_MEMORY_SIZE"] == uploads.FORM_TEXT_LIMIT_BYTES
    assert uploads.CLIP_LIMIT_BYTES < uploads.BODY_LIMIT_BYTES


def test_a_stale_token_is_explained(client: Browser) -> None:
    page = client.get("/instruments/new")
    client.client.delete_cookie(client_cookie(client), domain="127.0.0.1")
    answer = client.send(page, page.form(), fields={"name": "Invented"})
    assert answer.status_code == 400
    assert "reload the page" in Page(answer).text


def client_cookie(client: Browser) -> str:
    """Return the name of the cookie."""
    return str(client.client.application.config["SESSION_COOKIE_NAME"])


def test_a_demo_says_on_every_page_that_it_is_invented(notebook: Notebook) -> None:
    demo = Notebook(notebook.folder, notebook.database, notebook.clips, is_demo=True)
    browser = Browser(create_app(demo))
    for path in ("/", "/search", "/nothing-here"):
        assert "invented" in browser.get(path).text, path


def test_the_players_own_notebook_says_nothing_of_a_demo(client: Browser) -> None:
    assert "Demo notebook" not in client.get("/").text


def test_debug_is_off_and_nothing_can_switch_it_on_from_outside(
    notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLASK_DEBUG", "1")
    app = create_app(notebook)
    assert app.debug is False
    assert app.testing is False


def test_clips_are_handed_out_whole_or_in_parts(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    # RFC 9110 section 14: 206 with Content-Range, 416 with the complete length.
    path = f"/takes/{filled[1].take}/clip"
    whole = filled_client.fetch(path)
    assert whole.status_code == 200
    assert whole.mimetype == "audio/wav"
    assert whole.data[:4] == b"RIFF"
    length = len(whole.data)
    part = filled_client.fetch(path, {"Range": "bytes=4-7"})
    assert (part.status_code, part.data) == (206, whole.data[4:8])
    assert part.headers["Content-Range"] == f"bytes 4-7/{length}"
    tail = filled_client.fetch(path, {"Range": "bytes=-5"})
    assert (tail.status_code, tail.data) == (206, whole.data[-5:])
    beyond = filled_client.fetch(path, {"Range": f"bytes={length}-"})
    assert beyond.status_code == 416
    assert beyond.headers["Content-Range"] == f"bytes */{length}"
    again = filled_client.fetch(path, {"If-None-Match": whole.headers["ETag"]})
    assert again.status_code == 304


def test_a_missing_clip_is_410_and_keeps_its_numbers(
    filled: tuple[Notebook, Filled], filled_client: Browser
) -> None:
    notebook, rows = filled
    for clip in notebook.clips.folder.glob("*.wav"):
        clip.unlink()
    page = filled_client.get(f"/takes/{rows.take}/clip")
    assert page.status == 410
    assert "quartervent check" in page.text
    assert filled_client.get(f"/takes/{rows.take}").status == 200


def test_clips_of_a_notebook_named_by_a_relative_path_are_found(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, rows = filled
    monkeypatch.chdir(notebook.folder.parent)
    again = open_notebook(Path(notebook.folder.name))
    try:
        browser = Browser(create_app(again))
        monkeypatch.chdir("/")
        assert browser.fetch(f"/takes/{rows.take}/clip").status_code == 200
    finally:
        again.close()


def test_the_page_of_an_edit_names_its_own_address_only(
    notebook: Notebook, client: Browser
) -> None:
    instrument = add_clarinet(notebook)
    page = client.get(f"/instruments/{instrument}")
    links = [each.attributes["href"] for each in page.find("a")]
    assert all(each.startswith(("/", "#")) for each in links)
    assert ORIGIN not in page.html
