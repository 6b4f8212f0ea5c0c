"""`quartervent certificate`, `passphrase`, and `serve --share` as a real process on real sockets.

Truth: Python's `ssl` and `http` as the client; RFC 6265 (cookies).
"""

import http.client
import re
import socket
import ssl
import stat
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.cookies import SimpleCookie
from ipaddress import IPv4Address
from pathlib import Path
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner, Result

from tests import conftest
from tests.webapp.cli.test_serve import ADDRESS, BOUND_S, Server, serve_and_fail
from tests.webapp.shared_access import HOSTS, PASSPHRASE, hash_cheaply, prepare
from webapp.cli import certificate as certificate_module
from webapp.cli.certificate import certificate
from webapp.cli.passphrase import passphrase
from webapp.cli.serve import serve
from webapp.notebook.opening import open_notebook
from webapp.notebook.safekeeping.checking import check_clips
from webapp.sharing.addresses import Hosts
from webapp.sharing.certificates import make_certificate, read_certificate
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import read_passphrase

SHARED = re.compile(r"https://[\w.]+:(\d+)/")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SharingFolder:
    """A notebook's folder for sharing, on a machine that is called what the test says."""
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path / "own"))
    call_machine(monkeypatch, HOSTS)
    hash_cheaply(monkeypatch)
    return SharingFolder.of(tmp_path / "own")


def call_machine(patch: pytest.MonkeyPatch, hosts: Hosts) -> None:
    patch.setattr(certificate_module, "find_own_hosts", lambda: hosts)


def run_certificate(*options: str) -> Result:
    return CliRunner().invoke(certificate, options)


def run_passphrase(first: str, second: str, *options: str) -> Result:
    return CliRunner().invoke(passphrase, options, input=f"{first}\n{second}\n")


def test_a_certificate_names_this_machine_and_says_what_comes_next(folder: SharingFolder) -> None:
    result = run_certificate()
    assert result.exit_code == 0, result.output
    facts = read_certificate(folder)
    assert facts.hosts == HOSTS
    for told in (
        "music-room.local, 192.168.7.5",
        f"{facts.valid_to:%Y-%m-%d}",
        facts.authority_fingerprint,
        facts.authority_name,
        str(folder.handout),
        "iPadOS",
        "Android",
        "quartervent passphrase",
    ):
        assert told in result.output
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.path.iterdir()} == {0o600}


def test_other_addresses_and_names_can_be_given(folder: SharingFolder) -> None:
    given = ("--address", "10.0.0.5", "--name", "stand.local", "--address", "10.0.0.6")
    result = run_certificate(*given)
    assert result.exit_code == 0, result.output
    assert read_certificate(folder).hosts.texts == (
        "stand.local", "music-room.local", "10.0.0.5", "10.0.0.6", "192.168.7.5",
    )  # fmt: skip


def test_running_again_takes_todays_addresses_keeps_the_names_and_the_authority(
    folder: SharingFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_certificate("--name", "stand.local")
    before = read_certificate(folder)
    call_machine(monkeypatch, Hosts((IPv4Address("10.0.0.9"),), ("music-room.local",)))
    assert run_certificate().exit_code == 0
    after = read_certificate(folder)
    assert after.hosts.texts == ("music-room.local", "stand.local", "10.0.0.9")
    assert after.authority_fingerprint == before.authority_fingerprint


def test_a_new_authority_can_be_made(folder: SharingFolder) -> None:
    run_certificate()
    before = read_certificate(folder).authority_fingerprint
    assert run_certificate("--new-authority").exit_code == 0
    assert read_certificate(folder).authority_fingerprint != before


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--address", "8.8.8.8"), "network of your own"),
        (("--address", "stand.local"), "--name"),
        (("--name", "192.168.1.5"), "--address"),
    ],
)
def test_what_cannot_be_named_is_refused_in_words(
    folder: SharingFolder, options: tuple[str, ...], told: str
) -> None:
    result = run_certificate(*options)
    assert result.exit_code == 1
    assert told in result.output
    assert not folder.path.exists()


def test_a_machine_in_no_network_is_told_so(
    folder: SharingFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    call_machine(monkeypatch, Hosts((), ()))
    result = run_certificate()
    assert result.exit_code == 1
    assert "no network" in result.output
    assert not folder.path.exists()


def test_a_passphrase_is_asked_twice_kept_hashed_and_never_printed(folder: SharingFolder) -> None:
    result = run_passphrase(PASSPHRASE, PASSPHRASE)
    assert result.exit_code == 0, result.output
    assert PASSPHRASE not in result.output
    assert read_passphrase(folder).fits(PASSPHRASE)
    assert stat.S_IMODE(folder.passphrase.stat().st_mode) == 0o600


def test_two_that_differ_are_asked_again(folder: SharingFolder) -> None:
    result = CliRunner().invoke(
        passphrase, input=f"{PASSPHRASE}\nsomething else\n{PASSPHRASE}\n{PASSPHRASE}\n"
    )
    assert result.exit_code == 0, result.output
    assert read_passphrase(folder).fits(PASSPHRASE)


def test_a_short_passphrase_is_refused_in_words(folder: SharingFolder) -> None:
    result = run_passphrase("too short", "too short")
    assert result.exit_code == 1
    assert "10 to 200" in result.output
    assert not folder.passphrase.exists()


def test_a_passphrase_can_be_taken_away(folder: SharingFolder) -> None:
    run_passphrase(PASSPHRASE, PASSPHRASE)
    result = CliRunner().invoke(passphrase, ["--remove"])
    assert result.exit_code == 0
    assert not folder.passphrase.exists()
    assert "no passphrase" in CliRunner().invoke(passphrase, ["--remove"]).output


def test_check_takes_nothing_there_for_a_clip(folder: SharingFolder) -> None:
    prepare(folder.path.parent)
    notebook = open_notebook(folder.path.parent)
    try:
        assert check_clips(notebook).is_sound
    finally:
        notebook.close()


def share_and_fail(share_port: int = 0) -> str:
    """Run `serve --share` where it cannot share, in this process, and return what it said."""
    return serve_and_fail("--port", "0", "--share", "--share-port", str(share_port))


@pytest.mark.usefixtures("folder")
def test_nothing_is_shared_without_a_certificate() -> None:
    assert "quartervent certificate" in share_and_fail()


def test_nothing_is_shared_without_a_passphrase(folder: SharingFolder) -> None:
    make_certificate(folder, HOSTS, now=datetime.now(UTC))
    assert "quartervent passphrase" in share_and_fail()


def test_nothing_is_shared_with_a_certificate_that_is_out_of_date(folder: SharingFolder) -> None:
    prepare(folder.path.parent)
    make_certificate(folder, HOSTS, now=datetime.now(UTC) - timedelta(days=398))
    said = share_and_fail()
    assert "not today" in said
    assert "quartervent certificate" in said


def test_a_demo_is_not_shared() -> None:
    result = CliRunner().invoke(serve, ["--demo", "--share"])
    assert result.exit_code == 2
    assert "thrown away" in result.output


class Sharing:
    """A running `serve --share`, and a device that trusts its authority."""

    def __init__(self, folder: Path) -> None:
        self.folder = prepare(folder)
        self.server = Server(folder, "--port", "0", "--share", "--share-port", "0")
        lines = [self.server.first_line for _ in range(3)]
        local, shared = ADDRESS.search(lines[0]), SHARED.search(lines[2])
        assert local, lines
        assert shared, lines
        self.local_port, self.port = int(local[2]), int(shared[1])
        self.cookies: dict[str, str] = {}
        self.set_cookie = ""

    def ask(
        self, path: str, form: dict[str, str] | None = None, *, with_cookies: bool = True
    ) -> tuple[int, str, http.client.HTTPMessage]:
        """Ask for an address over verified TLS; send a form if there is one."""
        context = ssl.create_default_context(cafile=str(self.folder.authority))
        connection = http.client.HTTPSConnection(
            "localhost", self.port, timeout=BOUND_S, context=context
        )
        origin = f"https://localhost:{self.port}"
        headers = {"Host": f"localhost:{self.port}", "Referer": f"{origin}/"}
        if with_cookies and self.cookies:
            headers["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        if form is None:
            connection.request("GET", path, headers=headers)
        else:
            headers |= {"Origin": origin, "Content-Type": "application/x-www-form-urlencoded"}
            connection.request("POST", path, urlencode(form), headers)
        answer = connection.getresponse()
        body = answer.read().decode()
        for header in answer.headers.get_all("Set-Cookie", []):
            self.set_cookie = header
            self.cookies |= {k: v.value for k, v in SimpleCookie(header).items()}
        connection.close()
        return answer.status, body, answer.headers

    def sign_in(self, text: str) -> tuple[int, str]:
        """Send the sign-in form; return the status and Retry-After."""
        _, page, _ = self.ask("/sign-in")
        token = re.search(r'name="csrf_token" value="([^"]+)"', page)
        assert token, page
        form = {"passphrase": text, "csrf_token": token[1], "next": "/preferences"}
        status, _, headers = self.ask("/sign-in", form)
        return status, headers.get("Retry-After", "")


@pytest.fixture(scope="module")
def sharing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Sharing]:
    running = Sharing(tmp_path_factory.mktemp("shared") / "notebook")
    try:
        yield running
    finally:
        running.server.close()


def answers_at(address: str, port: int) -> bool:
    """Tell whether somebody listens on one of this machine's own addresses."""
    with socket.socket() as probe, pytest.MonkeyPatch.context() as patched:
        patched.setattr(conftest, "LOOPBACK", {*conftest.LOOPBACK, address})
        probe.settimeout(2)
        return probe.connect_ex((address, port)) == 0


@pytest.mark.skipif(sys.platform != "linux", reason="other systems route 127.0.0.1 only")
def test_only_the_shared_port_answers_on_other_addresses(sharing: Sharing) -> None:
    # 127.0.0.2 is this machine as well, but not the address that plain serving is bound to.
    assert answers_at("127.0.0.1", sharing.local_port)
    assert not answers_at("127.0.0.2", sharing.local_port)
    assert answers_at("127.0.0.2", sharing.port)


def test_this_machine_is_answered_by_http_without_signing_in(sharing: Sharing) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", sharing.local_port, timeout=BOUND_S)
    connection.request("GET", "/sharing")
    answer = connection.getresponse()
    page = answer.read().decode()
    connection.close()
    assert answer.status == 200
    assert f"https://localhost:{sharing.port}/" in page


def test_the_shared_port_speaks_no_plain_http(sharing: Sharing) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", sharing.port, timeout=BOUND_S)
    with pytest.raises((http.client.HTTPException, OSError)):
        connection.request("GET", "/sign-in")
        connection.getresponse()
    connection.close()


def test_a_device_signs_in_and_out_over_verified_tls(sharing: Sharing) -> None:
    status, _, headers = sharing.ask("/preferences", with_cookies=False)
    assert (status, headers["Location"]) == (302, "/sign-in?next=%2Fpreferences")
    assert sharing.sign_in(PASSPHRASE)[0] == 303
    attributes = {each.strip().casefold() for each in sharing.set_cookie.split(";")[1:]}
    assert {"secure", "httponly", "samesite=lax", "path=/"} <= attributes
    assert sharing.set_cookie.startswith("__Host-quartervent_")
    status, page, _ = sharing.ask("/sharing")
    assert status == 200
    token = re.search(r'name="csrf_token" value="([^"]+)"', page)
    assert token
    assert sharing.ask("/sign-out", {"csrf_token": token[1]})[0] == 303
    assert sharing.ask("/preferences")[0] == 302


def test_guessing_is_slowed_down_in_the_running_server(sharing: Sharing) -> None:
    answers = [sharing.sign_in(f"wrong guess number {number}") for number in range(3)]
    assert answers == [(422, ""), (422, ""), (429, "2")]


def test_a_taken_shared_port_is_said_in_one_sentence(
    sharing: Sharing, folder: SharingFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    prepare(folder.path.parent)
    # All addresses of this machine, which is what the shared port is bound to.
    monkeypatch.setattr(conftest, "LOOPBACK", {*conftest.LOOPBACK, "0.0.0.0"})
    said = share_and_fail(sharing.port)
    assert f"Port {sharing.port}" in said
    assert "--share-port" in said


def test_it_ends_cleanly_while_devices_are_connected(sharing: Sharing) -> None:
    # The last of the file: the server that the others ask is no more.
    context = ssl.create_default_context(cafile=str(sharing.folder.authority))
    device = http.client.HTTPSConnection("localhost", sharing.port, context=context)
    try:
        device.request("GET", "/sign-in")
        device.getresponse().read()
        assert sharing.server.stop() == 0
        rest = sharing.server.process.stdout
        assert rest is not None
        assert "Traceback" not in rest.read()
    finally:
        device.close()
