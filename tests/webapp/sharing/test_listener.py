"""The TLS server on real sockets of this machine.

Truth: Python's `ssl` as the client; RFC 8446 and RFC 8996 (TLS 1.0 and 1.1 are not to be used).
"""

import http.client
import socket
import ssl
import tracemalloc
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests import conftest
from tests.webapp.shared_access import prepare
from webapp.sharing.folder import SharingFolder
from webapp.sharing.listener import (
    ANY_ADDRESS,
    HEADER_LIMIT_BYTES,
    SharedListener,
    make_tls_context,
)

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

PATIENCE_S = 8  # less than what the server grants a silent client
LIMIT_BYTES = 32 << 20


def application(environ: "WSGIEnvironment", start_response: "StartResponse") -> list[bytes]:
    """Say how the request came; leave its body unread."""
    start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "5")])
    return [environ["wsgi.url_scheme"].encode()]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> SharingFolder:
    return prepare(tmp_path_factory.mktemp("listener"))


@pytest.fixture
def listener(folder: SharingFolder, monkeypatch: pytest.MonkeyPatch) -> Iterator[SharedListener]:
    # To listen on every address is not to reach another machine.
    monkeypatch.setattr(conftest, "LOOPBACK", {*conftest.LOOPBACK, ANY_ADDRESS})
    listener = SharedListener(make_tls_context(folder), port=0, body_limit_bytes=LIMIT_BYTES)
    listener.prepare()
    listener.answer_with(application)
    yield listener
    listener.stop()


def connect(folder: SharingFolder, port: int) -> http.client.HTTPSConnection:
    context = ssl.create_default_context(cafile=str(folder.authority))
    return http.client.HTTPSConnection("127.0.0.1", port, timeout=PATIENCE_S, context=context)


def test_it_answers_by_https_with_the_players_certificate(
    folder: SharingFolder, listener: SharedListener
) -> None:
    connection = connect(folder, listener.port)
    connection.request("GET", "/")
    answer = connection.getresponse()
    assert (answer.status, answer.read()) == (200, b"https")
    assert answer.headers["Server"] == "Quartervent"
    connection.close()


def test_no_header_or_address_changes_how_a_request_came(
    folder: SharingFolder, listener: SharedListener
) -> None:
    connection = connect(folder, listener.port)
    headers = {"X-Forwarded-Proto": "http", "wsgi.url_scheme": "http", "HTTPS": "off"}
    connection.request("GET", "/", headers=headers)
    assert connection.getresponse().read() == b"https"
    connection.request("GET", "http://127.0.0.1:8765/")
    answer = connection.getresponse()
    assert (answer.status, b"https" in answer.read()) == (400, False), "another server's address"
    connection.close()


def test_plain_http_is_not_answered(listener: SharedListener) -> None:
    with socket.create_connection(("127.0.0.1", listener.port), timeout=PATIENCE_S) as plain:
        plain.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        try:
            answered = plain.recv(4096)
        except ConnectionResetError:
            answered = b""
    assert b"HTTP/" not in answered
    assert b"https" not in answered


def test_old_versions_of_tls_are_not_spoken(
    folder: SharingFolder, listener: SharedListener
) -> None:
    context = ssl.create_default_context(cafile=str(folder.authority))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        context.minimum_version = ssl.TLSVersion.TLSv1
        context.maximum_version = ssl.TLSVersion.TLSv1_1
    context.set_ciphers("ALL:@SECLEVEL=0")
    with (
        socket.create_connection(("127.0.0.1", listener.port), timeout=PATIENCE_S) as plain,
        pytest.raises(ssl.SSLError, match=r"(?i)protocol|version"),
    ):
        context.wrap_socket(plain, server_hostname="127.0.0.1")


@pytest.mark.parametrize("has_shaken_hands", [False, True])
def test_clients_that_say_nothing_hold_up_nobody(
    folder: SharingFolder, listener: SharedListener, has_shaken_hands: bool
) -> None:
    silent: list[socket.socket] = []
    for _ in range(60):
        plain = socket.create_connection(("127.0.0.1", listener.port), timeout=PATIENCE_S)
        if has_shaken_hands:
            context = ssl.create_default_context(cafile=str(folder.authority))
            plain = context.wrap_socket(plain, server_hostname="127.0.0.1")
        silent.append(plain)
    try:
        connection = connect(folder, listener.port)
        connection.request("GET", "/")
        assert connection.getresponse().read() == b"https"
        connection.close()
    finally:
        for each in silent:
            each.close()


def test_a_body_that_nobody_reads_is_dropped_in_small_pieces(
    folder: SharingFolder, listener: SharedListener
) -> None:
    size = 24 << 20
    connection = connect(folder, listener.port)
    tracemalloc.start()
    try:
        connection.putrequest("POST", "/")
        connection.putheader("Content-Length", str(size))
        connection.endheaders()
        piece = bytes(1 << 16)
        for _ in range(size // len(piece)):
            connection.send(piece)
        assert connection.getresponse().read() == b"https"
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < size / 4
    connection.request("GET", "/")
    assert connection.getresponse().read() == b"https", "the next request is read from its start"
    connection.close()


def test_after_a_body_of_unknown_length_nothing_more_is_answered(
    folder: SharingFolder, listener: SharedListener
) -> None:
    # Request smuggling (RFC 9112, section 11.2): what follows must not count as a request.
    context = ssl.create_default_context(cafile=str(folder.authority))
    plain = socket.create_connection(("127.0.0.1", listener.port), timeout=PATIENCE_S)
    answered = b""
    with context.wrap_socket(plain, server_hostname="127.0.0.1") as connection:
        head = b"POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"
        connection.sendall(head + b"0\r\n\r\nGET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        try:
            while piece := connection.recv(4096):
                answered += piece
        except OSError:
            pass  # the end came as a reset
    assert answered.count(b"HTTP/1.1 200") == 1
    assert b"Connection: close" in answered


def test_a_body_or_a_head_beyond_the_limit_is_refused(
    folder: SharingFolder, listener: SharedListener
) -> None:
    connection = connect(folder, listener.port)
    connection.putrequest("POST", "/")
    connection.putheader("Content-Length", str(LIMIT_BYTES + 1))
    connection.endheaders()
    assert connection.getresponse().status == 413
    connection.close()
    connection = connect(folder, listener.port)
    connection.request("GET", "/", headers={"X-Long": "x" * HEADER_LIMIT_BYTES})
    assert connection.getresponse().status == 413
    connection.close()


def test_a_taken_port_is_an_error_and_a_stopped_one_is_free(
    folder: SharingFolder, listener: SharedListener, tmp_path: Path
) -> None:
    second = SharedListener(make_tls_context(folder), port=listener.port, body_limit_bytes=1)
    with pytest.raises(OSError, match="No socket could be created"):
        second.prepare()
    listener.stop()
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", listener.port), timeout=PATIENCE_S)
