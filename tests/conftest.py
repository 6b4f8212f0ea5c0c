"""Rules for every test: no network but this machine, no environment of the player's own."""

import socket
from collections.abc import Iterator

import pytest

Address = tuple[str, int] | str | bytes  # as the socket module takes it
LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})


class NetworkUsed(AssertionError):
    """A test tried to reach another machine."""


def _refuse_others(address: object) -> None:
    is_local = not isinstance(address, tuple) or address[0] in LOOPBACK
    if not is_local:
        raise NetworkUsed(f"A test tried to reach {address!r}; only this machine is allowed.")


@pytest.fixture(autouse=True)
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Refuse every connection to another machine."""
    connect, connect_ex, lookup = (
        socket.socket.connect,
        socket.socket.connect_ex,
        socket.getaddrinfo,
    )

    def guarded_connect(self: socket.socket, address: Address) -> None:
        _refuse_others(address)
        connect(self, address)

    def guarded_connect_ex(self: socket.socket, address: Address) -> int:
        _refuse_others(address)
        return connect_ex(self, address)

    def guarded_lookup(host: str | None, port: int | str | None, *rest: int, **more: int) -> object:
        if host is not None:
            _refuse_others((host,))
        return lookup(host, port, *rest, **more)

    monkeypatch.setattr(socket.socket, "connect", guarded_connect)
    monkeypatch.setattr(socket.socket, "connect_ex", guarded_connect_ex)
    monkeypatch.setattr(socket, "getaddrinfo", guarded_lookup)
    yield


@pytest.fixture(autouse=True)
def no_own_notebook(
    monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Keep every test away from the player's notebook."""
    monkeypatch.setenv("QUARTERVENT_INSTANCE", str(tmp_path_factory.getbasetemp() / "unnamed"))
    monkeypatch.delenv("QUARTERVENT_DATABASE", raising=False)
