"""Who is signed in from another device, with which cookie, and until when.

Truth: RFC 6265bis (cookie attributes and the __Host- prefix), Clear Site Data (W3C).
"""

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.shared_access import PASSPHRASE, SHARED_ORIGIN, Shared, try_in
from webapp.guards.admission import MARK
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import keep_passphrase, read_passphrase, sign_everyone_out


def test_a_cookie_of_the_machine_itself_is_none_for_another_device(shared: Shared) -> None:
    local = Browser(shared.local)
    with local.client.session_transaction(base_url=local.origin) as session:
        session[MARK] = read_passphrase(shared.access.folder).devices  # all but the right key
    stolen = local.client.get_cookie(shared.local.config["SESSION_COOKIE_NAME"], domain="127.0.0.1")
    assert stolen is not None
    device = shared.device()
    for name in (stolen.key, shared.app.config["SESSION_COOKIE_NAME"]):
        device.client.set_cookie(name, stolen.value, domain="192.168.7.5", secure=True)
    assert device.fetch("/").status_code == 302


@pytest.mark.parametrize("mark", [None, "", 1, True, [], "0" * 32, {"a": 1}])
def test_a_cookie_with_another_mark_is_not_signed_in(shared: Shared, mark: object) -> None:
    device = shared.device()
    with device.client.session_transaction(base_url=SHARED_ORIGIN) as session:
        session[MARK] = mark
    assert device.fetch("/").status_code == 302


def cookie_attributes(answer_headers: list[str]) -> set[str]:
    (cookie,) = [each for each in answer_headers if "quartervent" in each]
    return {each.casefold() for each in cookie.split("; ")[1:]}


def test_the_cookie_is_for_this_host_only_and_out_of_reach(shared: Shared) -> None:
    answer = shared.device().fetch("/sign-in")
    attributes = cookie_attributes(answer.headers.getlist("Set-Cookie"))
    assert {"secure", "httponly", "samesite=lax", "path=/"} <= attributes
    assert not any(each.startswith("domain") for each in attributes)
    name = answer.headers["Set-Cookie"].partition("=")[0]
    assert name.startswith("__Host-quartervent_")
    assert name != shared.local.config["SESSION_COOKIE_NAME"]


def test_the_cookie_of_the_machine_itself_stays_as_it_was(shared: Shared) -> None:
    answer = Browser(shared.local).fetch("/instruments/new")
    assert "secure" not in cookie_attributes(answer.headers.getlist("Set-Cookie"))


def test_signing_out_empties_the_cookie_and_empties_the_browsers_cache_only(shared: Shared) -> None:
    device = shared.signed_in_device()
    page = device.get("/sharing")
    answer = device.send(page, page.form("/sign-out"))
    assert answer.status_code == 303
    assert answer.headers["Location"] == "/sign-in"
    assert answer.headers["Clear-Site-Data"] == '"cache"', "waiting takes lie in the storage"
    assert device.fetch("/").status_code == 302


def test_every_device_can_be_signed_out_at_once_from_the_machine_itself(shared: Shared) -> None:
    devices = [shared.signed_in_device() for _ in range(2)]
    Browser(shared.local).submit("/sharing", "/sign-everyone-out")
    assert [each.fetch("/").status_code for each in devices] == [302, 302]
    assert shared.signed_in_device().fetch("/").status_code == 200


def test_every_device_can_be_signed_out_at_once_from_one_of_them(shared: Shared) -> None:
    device, other = shared.signed_in_device(), shared.signed_in_device()
    away = device.submit("/sharing", "/sign-everyone-out").response
    assert device.follow(away).find("h1")[0].text == "Sign in"
    assert other.fetch("/").status_code == 302


def test_a_new_passphrase_signs_every_device_out_at_once(shared: Shared) -> None:
    device = shared.signed_in_device()
    folder = SharingFolder.of(shared.notebook.folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("webapp.sharing.passphrase.COST", 2**4)
        keep_passphrase(folder, "another passphrase")
    assert device.fetch("/").status_code == 302
    assert try_in(shared.device(), PASSPHRASE)[0] == 422
    assert try_in(shared.device(), "another passphrase")[0] == 303


def test_without_a_passphrase_nobody_is_signed_in_and_nobody_can(shared: Shared) -> None:
    device = shared.signed_in_device()
    SharingFolder.of(shared.notebook.folder).remove_passphrase()
    assert device.fetch("/").status_code == 302
    assert try_in(device, PASSPHRASE)[0] == 409


def test_a_cookie_taken_before_signing_everyone_out_stays_out(shared: Shared) -> None:
    device = shared.signed_in_device()
    cookie = device.client.get_cookie(
        shared.app.config["SESSION_COOKIE_NAME"], domain="192.168.7.5"
    )
    assert cookie is not None
    thief = shared.device()
    thief.client.set_cookie(cookie.key, cookie.value, domain="192.168.7.5", secure=True)
    assert thief.fetch("/").status_code == 200, "so it is the mark that keeps it out below"
    sign_everyone_out(SharingFolder.of(shared.notebook.folder))
    assert thief.fetch("/").status_code == 302
