"""A tablet: signing in over HTTPS in a real browser, with and without scripts, and signing out."""

from __future__ import annotations

import base64
import hashlib
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Visit
from tests.browser.serving import Site, share_folder
from tests.browser.test_access import SMALL_TARGETS, VIEWS_THINNED, View, check_everywhere, resize
from tests.browser.test_offline import KEPT, wait_for, wait_until_kept
from tests.browser.visiting import PHONE, Visitor, make_visitor
from tests.tools import CHROMIUM_FLAGS, find_chromium
from tests.webapp.logging_rows import Filled
from tests.webapp.shared_access import PASSPHRASE

pytestmark = pytest.mark.browser

STORE = """async () => { const opened = indexedDB.open("waiting", 1);
    opened.onupgradeneeded = () => opened.result.createObjectStore("takes");
    await new Promise((done) => { opened.onsuccess = done; });
    const kept = opened.result.transaction("takes", "readwrite");
    kept.objectStore("takes").put("a take that waits", 1);
    await new Promise((done) => { kept.oncomplete = done; });
    opened.result.close(); localStorage.setItem("draft:kept", "words"); }"""
READ = """async () => { const opened = indexedDB.open("waiting", 1);
    await new Promise((done) => { opened.onsuccess = done; });
    const asked = opened.result.transaction("takes").objectStore("takes").get(1);
    await new Promise((done) => { asked.onsuccess = done; });
    opened.result.close(); return [asked.result, localStorage.getItem("draft:kept")]; }"""


@pytest.fixture(scope="module")
def shared_folder(
    filled_folder: tuple[Path, Filled], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    folder = tmp_path_factory.mktemp("shared") / "notebook"
    return Path(shutil.copytree(filled_folder[0], folder))


@pytest.fixture(scope="module")
def shared(shared_folder: Path) -> Iterator[Site]:
    """One notebook for the whole file: every visitor is a device of its own."""
    with share_folder(shared_folder) as site:
        yield site


def sign_in(page: Page, text: str = PASSPHRASE) -> None:
    page.get_by_label("Passphrase").fill(text)
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()


@pytest.mark.parametrize("has_scripts", [True, False])
def test_a_tablet_signs_in_reaches_the_page_it_wanted_and_what_it_keeps_is_in_the_notebook(
    visit: Visit, shared: Site, rows: Filled, has_scripts: bool
) -> None:
    visitor = visit(shared, has_scripts=has_scripts)
    page = visitor.open(f"/fingerings/{rows.base}")
    assert page.locator("h1").inner_text() == "Sign in"
    if has_scripts:
        # getUserMedia needs a secure context (Media Capture and Streams, W3C).
        assert page.evaluate("isSecureContext")
        assert page.evaluate("'mediaDevices' in navigator")

    sign_in(page, "not the passphrase")
    assert "This is not the passphrase" in page.get_by_role("alert").inner_text()
    sign_in(page)

    assert page.url == f"{shared.origin}/fingerings/{rows.base}"
    assert page.locator(".entry-picture").count() == 1
    if has_scripts:
        (cookie,) = visitor.context.cookies()
        assert (cookie["secure"], cookie["httpOnly"], cookie["sameSite"]) == (True, True, "Lax")
        assert cookie["name"].startswith("__Host-")
        assert page.evaluate("document.cookie") == ""
        page.goto(f"{shared.origin}/instruments/new")
        page.fill("#name", "Named on the stand")
        with page.expect_navigation():
            page.get_by_role("button", name="Save", exact=True).click()
        assert page.locator("h1").inner_text().startswith("Named on the stand")


@pytest.fixture
def trusting(browser: Browser, shared: Site, shared_folder: Path) -> Iterator[Visitor]:
    """A visitor who trusts the server's key: workers are only taken over TLS that holds."""
    server = x509.load_pem_x509_certificate((shared_folder / "sharing/server.pem").read_bytes())
    key = server.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
    started = browser.browser_type.launch(
        executable_path=find_chromium(),
        args=[*CHROMIUM_FLAGS, f"--ignore-certificate-errors-spki-list={pin}"],
    )
    visitor = make_visitor(started, shared, has_workers=True)
    yield visitor
    started.close()


def test_signing_out_drops_copies_and_leaves_what_waits_to_be_sent(
    trusting: Visitor, shared: Site
) -> None:
    page = trusting.open("/about")
    sign_in(page)
    wait_until_kept(page, "pages", "/about")
    page.evaluate(STORE)
    page.goto(f"{shared.origin}/sharing")
    wait_until_kept(page, "pages", "/sharing")

    with page.expect_navigation():
        page.get_by_role("button", name="Sign this device out").tap()

    assert page.locator("h1").inner_text() == "Sign in"
    wait_for(page, "async () => (await caches.keys()).every((name) => !name.includes('-pages-'))")
    assert any("-files-" in name for name in page.evaluate(KEPT))
    assert page.evaluate(READ) == ["a take that waits", "words"]
    page.goto(f"{shared.origin}/about")
    assert page.locator("h1").inner_text() == "Sign in"
    assert trusting.faults == []


@VIEWS_THINNED
def test_the_sign_in_page_can_be_read_and_used_by_everyone(
    visit: Visit, shared: Site, views: Sequence[View]
) -> None:
    page = visit(shared).open("/sign-in")
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(page.get_by_label("Passphrase")).to_be_focused()
    page.keyboard.type("not the passphrase")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert check_everywhere(page, views) == {}
    assert page.evaluate(SMALL_TARGETS, 44) == []
    page.get_by_label("Passphrase").focus()
    page.keyboard.type(PASSPHRASE)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.url == f"{shared.origin}/"


@VIEWS_THINNED
def test_the_pages_about_a_tablet_and_about_copies_have_targets_for_a_finger(
    visit: Visit, shared: Site, views: Sequence[View]
) -> None:
    visitor = visit(shared, has_one_tab=True)
    sign_in(visitor.open("/sharing"))
    for path in ("/sharing", "/offline"):
        page = visitor.open(path)
        resize(page, PHONE)
        assert page.evaluate(SMALL_TARGETS, 44) == [], path
        assert check_everywhere(page, views) == {}, path
