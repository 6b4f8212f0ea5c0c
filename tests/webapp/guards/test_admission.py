"""Other devices: nobody gets in without the passphrase, and nothing that a request says helps.

Truth: RFC 9110 (302, 401 with its challenge, 429 with Retry-After by RFC 6585), RFC 6265bis (cookie
attributes and the __Host- prefix), Fetch Metadata (what a request is for), Clear Site Data (W3C).
"""

import json

import pytest
from flask import Flask

from tests.webapp.browsing import Browser, Page
from tests.webapp.logging_rows import Filled
from tests.webapp.shared_access import PASSPHRASE, PORT, Shared, try_in
from tests.webapp.snapshots import counted_queries, snapshot
from tests.webapp.walking import openable_paths
from webapp.guards.admission import OPEN, own_path
from webapp.guards.security import HEADERS
from webapp.notebook.store.notebook import Notebook
from webapp.sharing.attempts import FIRST_WAIT_S, FREE_ATTEMPTS

WRONG = "quick reeds speak loudly"


def test_without_signing_in_every_route_leads_to_the_sign_in_page_or_is_401(
    shared: Shared, filled: tuple[Notebook, Filled]
) -> None:
    device = shared.device()
    adapter = shared.app.url_map.bind("")
    before = snapshot(shared.notebook)
    closed = 0
    with counted_queries(shared.notebook) as statements:
        for path in openable_paths(shared.app, filled[1]):
            endpoint, _ = adapter.match(path.partition("?")[0])
            for method in ("GET", "HEAD"):
                answer = device.open(path, method=method)
                if endpoint in OPEN:
                    assert answer.status_code == 200, path
                    continue
                closed += 1
                assert answer.status_code in (302, 401), path
                assert answer.headers.get("Location", "/sign-in?").startswith("/sign-in?"), path
        for rule in shared.app.url_map.iter_rules():
            if "POST" in (rule.methods or ()) and rule.endpoint not in OPEN:
                values = dict.fromkeys(rule.arguments, 1) | {"kind": "fingering", "layout_id": "x"}
                path = adapter.build(rule.endpoint, {k: values[k] for k in rule.arguments}, "POST")
                answer = device.open(path, method="POST")
                assert answer.status_code == 401, rule
                closed += 1
    assert closed > 100
    assert statements == [], "nothing of the notebook was even looked at"
    assert snapshot(shared.notebook) == before


def test_what_is_open_is_only_what_the_sign_in_page_needs() -> None:
    assert {
        "static", "assets.font", "web_app.manifest", "web_app.worker", "web_app.offline",
        "sign_in.enter",
    } == OPEN  # fmt: skip


@pytest.mark.parametrize("path", ["/nothing-here", "/fingerings/999999", "/takes/1/none.json"])
def test_what_is_not_there_looks_the_same_from_outside(shared: Shared, path: str) -> None:
    assert shared.device().fetch(path).status_code in (302, 401)


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "POST"])
def test_other_methods_are_401_with_a_page_to_read(shared: Shared, method: str) -> None:
    answer = shared.device().open("/preferences", method=method)
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"]
    assert "signed out" in Page(answer).text


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/fingerings/1/takes.json", {}),
        ("/recordings/1/progress", {"Sec-Fetch-Dest": "empty"}),
    ],
)
def test_a_script_is_told_in_json_that_the_device_is_signed_out(
    shared: Shared, path: str, headers: dict[str, str]
) -> None:
    for method in ("GET", "POST"):
        answer = shared.device().open(path, headers, method=method)
        assert answer.status_code == 401
        assert answer.mimetype == "application/json"
        told = json.loads(answer.text)["error"]
        assert told["kind"] == "signed-out"
        assert "Sign in again" in told["message"]


def test_a_page_that_the_service_worker_asks_for_is_led_to_the_sign_in_page(
    shared: Shared,
) -> None:
    headers = {"Sec-Fetch-Dest": "empty", "Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    answer = shared.device().fetch("/about", headers)
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/sign-in?next=%2Fabout"


def test_a_picture_or_a_clip_is_not_led_to_a_page(shared: Shared, rows: Filled) -> None:
    for dest in ("image", "audio"):
        answer = shared.device().fetch(f"/takes/{rows.take}/clip", {"Sec-Fetch-Dest": dest})
        assert answer.status_code == 401


@pytest.fixture
def rows(filled: tuple[Notebook, Filled]) -> Filled:
    return filled[1]


def test_the_right_passphrase_opens_the_page_that_was_wanted(shared: Shared, rows: Filled) -> None:
    device = shared.device()
    away = device.fetch(f"/fingerings/{rows.base}?plain=1")
    page = device.get(away.headers["Location"])
    assert page.status == 200
    answer = device.send(page, page.form("/sign-in"), fields={"passphrase": PASSPHRASE})
    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/fingerings/{rows.base}?plain=1"
    assert device.get(answer.headers["Location"]).status == 200


def test_signed_in_everything_works_as_on_the_machine_itself(shared: Shared) -> None:
    device = shared.signed_in_device()
    page = device.submit("/instruments/new", name="From the tablet")
    assert page.status == 200
    assert "From the tablet" in page.text
    assert "From the tablet" in Browser(shared.local).get("/").text


def test_a_wrong_passphrase_is_said_and_opens_nothing(shared: Shared) -> None:
    device = shared.device()
    page = device.get("/sign-in")
    answer = device.send(page, page.form("/sign-in"), fields={"passphrase": WRONG})
    assert answer.status_code == 422
    assert "not the passphrase" in Page(answer).text
    assert WRONG not in answer.text
    assert device.fetch("/").status_code == 302


def test_guessing_is_slowed_down_whoever_guesses(shared: Shared) -> None:
    assert [try_in(shared.device(), WRONG)[0] for _ in range(FREE_ATTEMPTS)] == [422, 422, 429]
    status, wait = try_in(shared.device(), PASSPHRASE)
    assert (status, wait) == (429, f"{FIRST_WAIT_S:.0f}"), "the right one has to wait as well"
    shared.clock.now_s += FIRST_WAIT_S
    assert try_in(shared.device(), WRONG) == (429, f"{2 * FIRST_WAIT_S:.0f}")
    shared.clock.now_s += 2 * FIRST_WAIT_S
    assert try_in(shared.device(), PASSPHRASE)[0] == 303


def test_asking_for_the_sign_in_page_is_no_try(shared: Shared) -> None:
    for method in ("GET", "HEAD", "OPTIONS") * FREE_ATTEMPTS:
        shared.device().open("/sign-in", method=method)
    assert try_in(shared.device(), PASSPHRASE)[0] == 303


def test_a_forged_sender_makes_no_difference_to_the_count(shared: Shared) -> None:
    for number in range(FREE_ATTEMPTS):
        device = shared.device()
        device.client.environ_base["REMOTE_ADDR"] = f"192.168.7.{number}"
        device.client.environ_base["HTTP_X_FORWARDED_FOR"] = f"10.0.0.{number}"
        try_in(device, WRONG)
    assert try_in(shared.device(), PASSPHRASE)[0] == 429


def test_a_device_that_is_signed_in_is_not_held_up_by_guessing(shared: Shared) -> None:
    device = shared.signed_in_device()
    for _ in range(FREE_ATTEMPTS + 1):
        try_in(shared.device(), WRONG)
    assert device.fetch("/").status_code == 200
    assert Browser(shared.local).fetch("/").status_code == 200


def test_nothing_a_request_says_makes_it_local(shared: Shared) -> None:
    headers = {
        "X-Forwarded-For": "127.0.0.1",
        "X-Real-IP": "127.0.0.1",
        "Forwarded": "for=127.0.0.1;host=127.0.0.1:8765;proto=http",
        "X-Forwarded-Host": "127.0.0.1:8765",
        "X-Forwarded-Port": "8765",
    }
    device = shared.device()
    device.client.environ_base.update(REMOTE_ADDR="127.0.0.1", SERVER_PORT="8765")
    assert device.fetch("/", headers).status_code == 302


@pytest.mark.parametrize(
    "host",
    [
        "evil.example", f"evil.example:{PORT}", "192.168.7.5", "192.168.7.5:8765",
        f"192.168.7.6:{PORT}", f"127.0.0.1:{PORT}", f"localhost:{PORT}",
        f"x.music-room.local:{PORT}",
    ],
)  # fmt: skip
@pytest.mark.parametrize("path", ["/", "/sign-in", "/static/css/notebook.css", "/nothing"])
def test_a_host_that_the_certificate_does_not_name_gets_400(
    shared: Shared, host: str, path: str
) -> None:
    assert shared.device().fetch(path, {"Host": host}).status_code == 400


def test_every_host_of_the_certificate_is_answered(shared: Shared) -> None:
    for host in ("192.168.7.5", "music-room.local", "MUSIC-ROOM.local"):
        device = Browser(shared.app, f"https://{host}:{PORT}")
        assert device.fetch("/sign-in").status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://192.168.7.5"},
        {"Origin": "http://192.168.7.5:8766"},
        {"Origin": "https://music-room.local:8766"},
        {"Origin": "null"},
    ],
)
def test_a_write_from_another_origin_gets_403_signed_in_or_not(
    shared: Shared, headers: dict[str, str]
) -> None:
    for device in (shared.signed_in_device(), shared.device()):
        for path in ("/preferences", "/sign-in"):
            assert device.open(path, headers, method="POST").status_code == 403


def test_the_sign_in_form_needs_its_token(shared: Shared) -> None:
    device = shared.device()
    page = device.get("/sign-in")
    answer = device.send(
        page, page.form("/sign-in"), fields={"passphrase": PASSPHRASE, "csrf_token": "forged"}
    )
    assert answer.status_code == 400
    assert device.fetch("/").status_code == 302


def test_a_stranger_may_send_a_passphrase_and_not_a_recording(shared: Shared) -> None:
    device = shared.device()
    page = device.get("/sign-in")
    form = page.form("/sign-in")
    assert device.send(page, form, fields={"passphrase": "x" * 100_000}).status_code == 413
    signed_in = shared.signed_in_device()
    page = signed_in.get("/instruments/new")
    answer = signed_in.send(page, page.form(), fields={"name": "x", "notes": "x" * 100_000})
    assert answer.status_code == 422, "too long for a note, and read all the same"


def test_who_is_signed_in_is_not_asked_again(shared: Shared) -> None:
    answer = shared.signed_in_device().fetch("/sign-in?next=/preferences")
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/preferences"


@pytest.mark.parametrize(
    "address",
    [
        "https://evil.example/", "//evil.example/", "/\\evil.example", "\\\\evil.example",
        "javascript:alert(1)", "evil", "", "/\t/evil.example", "http:///evil.example",
        "//[::1", "/\n/evil",
    ],
)  # fmt: skip
def test_signing_in_leads_to_no_other_site(shared: Shared, address: str) -> None:
    assert own_path(address) == "/"
    device = shared.device()
    page = device.get("/sign-in")
    answer = device.send(
        page, page.form("/sign-in"), fields={"passphrase": PASSPHRASE, "next": address}
    )
    assert answer.headers["Location"] == "/"


def test_the_sign_in_page_shows_nothing_of_the_notebook_and_works_without_scripts(
    shared: Shared,
) -> None:
    page = shared.device().get("/sign-in?next=/%22%3E%3Cscript%3E")
    assert page.find("nav") == []
    links = {each.attributes["href"] for each in page.find("a")}
    assert links == {"#content"}
    assert page.find("input", type="password", autocomplete="current-password")
    assert "<script>" not in page.html
    assert all(each.attributes["src"].startswith("/static/") for each in page.find("script"))


def test_strict_headers_stand_on_every_kind_of_answer_to_another_device(shared: Shared) -> None:
    device = shared.device()
    answers = [
        device.fetch("/"),
        device.fetch("/sign-in"),
        device.fetch("/x.json"),
        device.open("/preferences", method="POST"),
        device.open("/preferences", {"Origin": "null"}, method="POST"),
        device.fetch("/", {"Host": "evil.example"}),
        device.fetch("/service-worker.js"),
        device.fetch("/app.webmanifest"),
        device.fetch("/static/icon.svg"),
        shared.signed_in_device().fetch("/"),
        shared.signed_in_device().fetch("/nothing"),
    ]
    assert {each.status_code for each in answers} == {200, 302, 400, 401, 403, 404}
    for answer in answers:
        for name, value in HEADERS.items():
            assert answer.headers[name] == value
        assert "unsafe" not in answer.headers["Content-Security-Policy"]


def test_the_machine_itself_asks_for_nothing_and_has_no_sign_in(shared: Shared) -> None:
    local = Browser(shared.local)
    assert local.fetch("/").status_code == 200
    assert local.fetch("/sign-in").status_code == 404
    assert local.fetch("/", {"Host": "192.168.7.5:8766"}).status_code == 400


def test_both_applications_share_notebook_and_work(shared: Shared) -> None:
    def parts(app: Flask) -> list[object]:
        return [app.extensions[name] for name in ("notebook", "result_cache", "background")]

    assert all(
        one is other for one, other in zip(parts(shared.local), parts(shared.app), strict=True)
    )
