"""Tests are kept off the network. 192.0.2.1 is an address for documentation (RFC 5737)."""

import socket
import urllib.request

import pytest

from tests.conftest import NetworkUsed


def test_another_machine_cannot_be_reached() -> None:
    with socket.socket() as probe:
        with pytest.raises(NetworkUsed):
            probe.connect(("192.0.2.1", 80))
        with pytest.raises(NetworkUsed):
            probe.connect_ex(("192.0.2.1", 80))
    with pytest.raises(NetworkUsed):
        socket.create_connection(("clarinet.example", 80), timeout=1)
    with pytest.raises(NetworkUsed):
        urllib.request.urlopen("http://192.0.2.1/", timeout=1)


def test_this_machine_can_be_reached() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        with socket.create_connection(("127.0.0.1", port), timeout=5):
            pass
