"""Who is signed in from another device, with which cookie, and until when.

Truth: RFC 6265bis (cookie attributes and the __Host- prefix), Clear Site Data (W3C).
"""

from datetime import timedelta

import pytest

from tests.webapp.browsing import Browser
from tests.webapp.shared_access import PASSPHRASE, SHARED_ORIGIN, Shared, try_in
from webapp.guards.admission import MARK
from webapp.sharing.access import list_devices
from webapp.sharing.devices import find_device, read_devices
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


def test_one_device_is_signed_out_alone_and_found_by_its_name(shared: Shared) -> None:
    lost, other = shared.device(), shared.signed_in_device()
    page = lost.get("/sign-in")
    fields = {"passphrase": PASSPHRASE, "name": " Old <b>tablet</b>\x00 "}
    assert lost.send(page, page.form("/sign-in"), fields=fields).status_code == 303
    assert lost.fetch("/").status_code == 200
    (old,) = [each for each in list_devices(shared.access.folder) if each.name != "A device"]
    assert old.name == "Old <b>tablet</b>"
    machine = Browser(shared.local)
    shown = machine.get("/sharing")
    assert "Old <b>tablet</b>" in shown.text
    answer = machine.send(shown, shown.form(f"/sharing/devices/{old.id}/forget"))
    assert "The device is signed out." in machine.follow(answer).text
    assert (lost.fetch("/").status_code, other.fetch("/").status_code) == (302, 200)


def test_a_copied_cookie_is_dead_after_signing_out(shared: Shared) -> None:
    device = shared.signed_in_device()
    name = shared.app.config["SESSION_COOKIE_NAME"]
    cookie = device.client.get_cookie(name, domain="192.168.7.5")
    assert cookie is not None
    thief = shared.device()
    thief.client.set_cookie(cookie.key, cookie.value, domain="192.168.7.5", secure=True)
    assert thief.fetch("/").status_code == 200
    page = device.get("/sharing")
    device.send(page, page.form("/sign-out"))
    assert thief.fetch("/").status_code == 302


def test_a_device_is_seen_and_its_token_stands_nowhere(shared: Shared) -> None:
    device = shared.signed_in_device()
    folder = shared.access.folder
    with device.client.session_transaction(base_url=SHARED_ORIGIN) as session:
        token = session[MARK]
    assert token not in folder.devices.read_text("utf-8")
    (before,) = read_devices(folder)
    later = before.last_seen + timedelta(hours=1)
    mark = read_passphrase(folder).devices
    assert find_device(folder, token, mark, later) is not None
    assert read_devices(folder)[0].last_seen == later
    assert find_device(folder, "0" * 64, mark, later) is None


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
