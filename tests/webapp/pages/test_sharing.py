"""The page about a tablet: what is ready and how to get there."""

import pytest
from cryptography import x509

from tests.webapp.browsing import Browser
from tests.webapp.shared_access import HOSTS, Shared, prepare
from webapp.notebook.store.notebook import Notebook
from webapp.sharing.certificates import read_certificate
from webapp.sharing.folder import SharingFolder


def test_at_first_nothing_is_open_and_the_commands_are_named(client: Browser) -> None:
    page = client.get("/sharing")
    assert page.status == 200
    assert "on this machine only" in page.text
    assert "not everything is ready" in page.text
    for command in ("certificate", "passphrase", "serve --share"):
        assert f"quartervent {command}" in page.text
    assert page.find("a", href="/sharing/authority.crt") == []
    assert page.find("form", action="/sharing/sign-everyone-out") == []


def test_what_is_ready_is_said_and_the_authority_handed_out(
    notebook: Notebook, client: Browser
) -> None:
    folder = prepare(notebook.folder, HOSTS)
    page = client.get("/sharing")
    assert "music-room.local, 192.168.7.5" in page.text
    assert read_certificate(folder).authority_fingerprint in page.text
    assert "not everything is ready" not in page.text
    answer = client.fetch("/sharing/authority.crt")
    assert answer.status_code == 200
    assert answer.mimetype == "application/x-x509-ca-cert"
    assert "attachment" in answer.headers["Content-Disposition"]
    assert (
        x509.load_der_x509_certificate(answer.data)
        .extensions.get_extension_for_class(x509.BasicConstraints)
        .value.ca
    )


def test_without_a_certificate_there_is_no_authority_to_hand_out(client: Browser) -> None:
    assert client.fetch("/sharing/authority.crt").status_code == 404


def test_while_it_is_shared_the_addresses_are_shown(notebook: Notebook) -> None:
    shared = Shared(notebook)
    for page in (Browser(shared.local).get("/sharing"), shared.signed_in_device().get("/sharing")):
        assert "https://music-room.local:8766/" in page.text
        assert "https://192.168.7.5:8766/" in page.text
    assert Browser(shared.local).get("/sharing").find("form", action="/sign-out") == []


@pytest.mark.parametrize("secret", ["authority.key", "server.key", "passphrase.json"])
def test_secrets_are_handed_out_nowhere(notebook: Notebook, client: Browser, secret: str) -> None:
    prepare(notebook.folder, HOSTS)
    for path in (f"/sharing/{secret}", f"/static/../sharing/{secret}", f"/sharing/%2e/{secret}"):
        assert client.fetch(path).status_code == 404
    assert "PRIVATE" not in client.get("/sharing").html


def test_signing_everyone_out_without_a_passphrase_is_said_in_words(client: Browser) -> None:
    page = client.get("/preferences")
    token = page.form().values["csrf_token"]
    answer = client.client.post(
        "/sharing/sign-everyone-out",
        base_url=client.origin,
        data={"csrf_token": token},
        headers={"Sec-Fetch-Site": "same-origin"},
    )
    assert answer.status_code == 409
    assert "quartervent passphrase" in answer.text


def test_looking_makes_no_folder(notebook: Notebook, client: Browser) -> None:
    client.get("/sharing")
    assert not SharingFolder.of(notebook.folder).path.exists()
