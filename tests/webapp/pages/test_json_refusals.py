"""Refusals in JSON: every route that scripts ask refuses in the one shape, whatever refuses.

Truth: RFC 9110 for the statuses (400, 401 with its challenge, 403, 404, 405 with Allow, 413, 500).
"""

from collections.abc import Iterator

import pytest
from flask import Flask
from werkzeug.routing import Rule

from tests.webapp.browsing import ORIGIN, SAME_ORIGIN, Browser
from tests.webapp.pages.sending import error_of, token
from tests.webapp.shared_access import Shared
from webapp.app import create_app
from webapp.notebook.store.notebook import Notebook
from webapp.presenting.json_answers import ASKED_BY_SCRIPTS, ENDING

NOWHERE = 999_999
FOREIGN = {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1:9999"}


def script_rules(app: Flask) -> Iterator[tuple[Rule, str, str]]:
    """Every route that answers in JSON, an address of it where nothing is, and its method."""
    adapter = app.url_map.bind("")
    for rule in app.url_map.iter_rules():
        if rule.rule.endswith(ENDING) or rule.endpoint in app.config[ASKED_BY_SCRIPTS]:
            values = {name: "take" if name == "kind" else NOWHERE for name in rule.arguments}
            methods = rule.methods or set()
            method = "POST" if "POST" in methods else "GET"
            yield rule, adapter.build(rule.endpoint, values, method), method


@pytest.fixture
def app(notebook: Notebook) -> Flask:
    return create_app(notebook)


def test_the_walk_finds_the_routes_that_scripts_ask(app: Flask) -> None:
    endpoints = {rule.endpoint for rule, _, _ in script_rules(app)}
    assert {
        "take_uploads.token", "take_uploads.take", "take_uploads.take_of_try",
        "take_uploads.tuning_note", "bin.put_for_script", "bin.put_back_for_script",
        "practice_list.settle_for_script", "recordings.progress", "typed_keys.read",
    } <= endpoints  # fmt: skip


def test_what_is_not_there_is_refused_in_json(app: Flask) -> None:
    browser = Browser(app)
    for rule, path, method in script_rules(app):
        if rule.endpoint == "take_uploads.token":
            continue  # it asks for nothing that could be missing
        answer = browser.client.open(
            path,
            method=method,
            base_url=ORIGIN,
            headers=SAME_ORIGIN,
            data={"csrf_token": token(browser), "state": "done"} if method == "POST" else None,
        )
        error = error_of(answer)
        # A form is looked at before the row that it is for.
        assert (answer.status_code, error["kind"]) in {
            (404, "not-found"), (415, "not-a-recording"), (422, "field"),
        }, path  # fmt: skip
        assert error["kind"] != "field" or error["field"], path


def test_a_write_without_a_token_is_refused_in_json(app: Flask) -> None:
    for _, path, method in script_rules(app):
        if method == "POST":
            answer = Browser(app).open(path, SAME_ORIGIN, method="POST")
            assert (answer.status_code, error_of(answer)["kind"]) == (400, "token"), path


def test_a_write_from_another_page_is_refused_in_json(app: Flask) -> None:
    for _, path, method in script_rules(app):
        if method == "POST":
            answer = Browser(app).open(path, FOREIGN, method="POST")
            assert (answer.status_code, error_of(answer)["kind"]) == (403, "foreign"), path


def test_a_host_that_is_not_ours_is_refused_in_json(app: Flask) -> None:
    for rule, path, method in script_rules(app):
        if rule.rule.endswith(ENDING):  # without a host of ours no route is looked for
            answer = Browser(app, "http://elsewhere.example").open(path, method=method)
            assert (answer.status_code, error_of(answer)["kind"]) == (400, "not-understood"), path


def test_another_method_is_refused_in_json(app: Flask) -> None:
    for rule, path, method in script_rules(app):
        if rule.rule.endswith(ENDING) and method == "POST":
            answer = Browser(app).open(path, method="GET")
            assert (answer.status_code, error_of(answer)["kind"]) == (405, "method"), path
            assert "POST" in answer.headers["Allow"]


def test_a_fault_of_ours_is_refused_in_json(app: Flask) -> None:
    def fail(**_: object) -> None:
        raise RuntimeError("secret")

    app.config["WTF_CSRF_ENABLED"] = False
    for rule, path, method in script_rules(app):
        app.before_request_funcs = {None: [fail]}
        answer = Browser(app).open(path, SAME_ORIGIN, method=method)
        assert (answer.status_code, error_of(answer)["kind"]) == (500, "unforeseen"), rule
        assert "secret" not in answer.text


def test_a_device_that_is_signed_out_is_refused_in_json(shared: Shared) -> None:
    for _, path, method in script_rules(shared.app):
        answer = shared.device().open(path, method=method)
        assert (answer.status_code, error_of(answer)["kind"]) == (401, "signed-out"), path
        assert answer.headers["WWW-Authenticate"]


def test_a_field_that_cannot_be_kept_is_named(app: Flask, practice: int) -> None:
    browser = Browser(app)
    answer = browser.client.post(
        f"/practice/{practice}/tuning-note.json",
        base_url=ORIGIN,
        headers=SAME_ORIGIN,
        data={"csrf_token": token(browser)},
    )
    assert answer.status_code == 422
    assert error_of(answer)["field"] == "written"
