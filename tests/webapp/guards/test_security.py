"""Other pages in the same browser reach nothing.

Truth: Fetch Metadata Request Headers (W3C) for Sec-Fetch-Site; RFC 6454 section 4 and 6 for origins
and "null"; CSP level 3 for the policy; the DNS rebinding attack sends the attacker's own name as
Host.
"""

import pytest
from flask import Flask

from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser
from tests.webapp.logging_rows import Filled
from tests.webapp.snapshots import counted_queries, snapshot
from webapp.app import create_app
from webapp.notebook.instruments.instruments import list_instruments
from webapp.notebook.store.notebook import Notebook

FOREIGN_HOSTS = (
    "evil.example",
    "evil.example:8765",
    "127.0.0.1.evil.example:8765",
    "localhost.evil.example",
    "192.168.1.20:8765",
    "0.0.0.0:8765",
    "[::1]:8765",
)


@pytest.mark.parametrize("host", FOREIGN_HOSTS)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_host_gets_400_before_anything_is_read_or_written(
    filled: tuple[Notebook, Filled], host: str, method: str
) -> None:
    notebook, rows = filled
    client = create_app(notebook).test_client()
    before = snapshot(notebook)
    with counted_queries(notebook) as statements:
        for path in ("/", f"/fingerings/{rows.base}", f"/takes/{rows.take}/clip", "/bin/empty"):
            answer = client.open(path, method=method, headers={"Host": host}, buffered=True)
            assert answer.status_code == 400
            assert "quarter" not in answer.text.casefold(), "nothing of the notebook is told"
            assert "Set-Cookie" not in answer.headers
    assert statements == []
    assert snapshot(notebook) == before


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "127.0.0.1"])
def test_the_notebooks_own_names_are_answered(app: Flask, host: str) -> None:
    assert app.test_client().get("/", headers={"Host": host}).status_code == 200


# headers of a write -> whether it is let through (the token is right in every case)
WRITES: tuple[tuple[dict[str, str], bool], ...] = (
    ({"Sec-Fetch-Site": "same-origin", "Origin": ORIGIN}, True),
    ({"Sec-Fetch-Site": "same-origin"}, True),
    ({"Sec-Fetch-Site": "none"}, True),
    ({"Origin": ORIGIN}, True),
    ({}, True),  # no browser at all; the token stands guard
    ({"Sec-Fetch-Site": "same-site", "Origin": ORIGIN}, False),  # another port of this machine
    ({"Sec-Fetch-Site": "cross-site"}, False),
    ({"Sec-Fetch-Site": "cross-site", "Origin": ORIGIN}, False),
    ({"Sec-Fetch-Site": "anything-new"}, False),
    ({"Sec-Fetch-Site": ""}, False),
    ({"Origin": "http://127.0.0.1:9999"}, False),
    ({"Origin": "http://127.0.0.1"}, False),
    ({"Origin": "https://127.0.0.1:8765"}, False),
    ({"Origin": "http://localhost:8765"}, False),
    ({"Origin": "http://evil.example"}, False),
    ({"Origin": "null"}, False),  # a sandboxed frame or a file
    ({"Origin": ""}, False),
    ({"Origin": "http://[::1"}, False),  # no address at all
)


@pytest.mark.parametrize(("headers", "is_let_through"), WRITES)
def test_writes_from_another_origin_get_403_even_with_a_valid_token(
    notebook: Notebook, client: Browser, headers: dict[str, str], is_let_through: bool
) -> None:
    page = client.get("/instruments/new")
    answer = client.send(page, page.form(), fields={"name": "Invented"}, headers=headers)
    assert answer.status_code == (302 if is_let_through else 403)
    assert len(list_instruments(notebook)) == is_let_through


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_every_writing_method_is_judged(app: Flask, method: str) -> None:
    answer = app.test_client().open(
        "/preferences", method=method, base_url=ORIGIN, headers={"Sec-Fetch-Site": "cross-site"}
    )
    assert answer.status_code == 403


def test_every_form_needs_its_token(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    app = create_app(notebook)
    values = dict.fromkeys(
        (
            "instrument_id",
            "fingering_id",
            "practice_id",
            "recording_id",
            "suggestion_id",
            "row_id",
            "target_id",
            "take_id",
            "note_id",
            "piece_id",
            "composers_id",
            "fixed_id",
            "sheet_id",
            "list_id",
            "received_id",
            "sender_id",
            "run_id",
            "passage_id",
            "mark_id",
            "file_id",
            "page",
        ),
        rows.base,
    )
    before = snapshot(notebook)
    posts = [rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())]
    assert len(posts) >= 9
    for rule in posts:
        wanted = {name: values.get(name, "fingering") for name in rule.arguments}
        path = app.url_map.bind("").build(rule.endpoint, wanted)
        answer = app.test_client().post(
            path, base_url=ORIGIN, headers=SAME_ORIGIN, data={"name": "x", "csrf_token": "forged"}
        )
        assert answer.status_code == 400, rule
        assert "reload the page" in answer.text
    assert snapshot(notebook) == before


def test_strict_headers_stand_on_every_kind_of_answer(
    filled: tuple[Notebook, Filled], monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook, rows = filled
    client = Browser(create_app(notebook))
    answers = {
        path: client.fetch(path)
        for path in (
            "/",
            "/no-such-page",
            f"/takes/{rows.take}/clip",
            f"/instruments/{rows.soprano}/chart.pdf",
            f"/instruments/{rows.soprano}/chart.pdf?low=nonsense",
            "/static/css/notebook.css",
            "/fonts/regular.ttf",
            f"/fingerings/{rows.binned_fingering}",
        )
    }
    answers["range"] = client.fetch(f"/takes/{rows.take}/clip", {"Range": "bytes=0-9"})
    answers["bad range"] = client.fetch(f"/takes/{rows.take}/clip", {"Range": "bytes=99999999-"})
    answers["foreign host"] = client.fetch("/", {"Host": "evil.example"})
    answers["no token"] = client.open("/preferences", method="POST")
    answers["foreign write"] = client.open("/preferences", {"Origin": "null"}, method="POST")
    answers["wrong method"] = client.open("/", method="DELETE")
    monkeypatch.setattr("webapp.pages.start.open_overview", lambda _: 1 / 0)
    answers["unforeseen"] = client.fetch("/")
    assert {each.status_code for each in answers.values()} >= {
        200, 206, 400, 403, 404, 405, 416, 422, 500,
    }  # fmt: skip
    for name, answer in answers.items():
        policy = dict(
            each.strip().split(" ", 1)
            for each in answer.headers["Content-Security-Policy"].split(";")
        )
        assert policy["default-src"] == "'none'", name
        assert policy["frame-ancestors"] == "'none'", name
        assert policy["script-src"] == policy["style-src"] == "'self'", name
        assert "unsafe" not in answer.headers["Content-Security-Policy"], name
        assert answer.headers["X-Content-Type-Options"] == "nosniff", name
        assert "Access-Control-Allow-Origin" not in answer.headers, name
