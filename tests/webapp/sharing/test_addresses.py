"""Which addresses and names may stand for this machine.

Truth: RFC 1918 (private blocks), RFC 3927 (link-local), RFC 5737 (documentation), RFC 1123 section
2.1 (what a host name is); 8.8.8.8 and 1.1.1.1 lie on the open internet.
"""

import socket
from ipaddress import IPv4Address
from typing import ClassVar

import pytest

from webapp.notebook.store.errors import SharingRefused
from webapp.sharing.addresses import Hosts, find_own_hosts, read_hosts


@pytest.mark.parametrize("text", ["192.168.1.20", " 10.0.0.5 ", "172.16.3.4", "169.254.9.9"])
def test_an_address_of_a_private_network_is_taken(text: str) -> None:
    assert read_hosts([text], []).addresses == (IPv4Address(text.strip()),)


@pytest.mark.parametrize("text", ["8.8.8.8", "1.1.1.1", "0.0.0.0", "224.0.0.251"])
def test_an_address_that_is_not_of_a_network_of_ones_own_is_refused(text: str) -> None:
    with pytest.raises(SharingRefused, match="network of your own"):
        read_hosts([text], [])


@pytest.mark.parametrize("text", ["", "192.168.1", "music-room.local", "::1", "192.168.1.256"])
def test_what_is_no_address_is_refused_and_names_are_pointed_at(text: str) -> None:
    with pytest.raises(SharingRefused, match="--name"):
        read_hosts([text], [])


@pytest.mark.parametrize(
    ("text", "name"),
    [("Music-Room.local", "music-room.local"), ("stand", "stand"), ("a.home.arpa.", "a.home.arpa")],
)
def test_a_name_is_taken_in_small_letters(text: str, name: str) -> None:
    assert read_hosts([], [text]).names == (name,)


@pytest.mark.parametrize(
    "text",
    ["", "-x.local", "x-.local", "x..local", "192.168.1.20", "a b", "*.local", "é.local", "x/y",
     "x" * 64, ".".join(["x" * 50] * 6)],
)  # fmt: skip
def test_what_is_no_name_is_refused_and_addresses_are_pointed_at(text: str) -> None:
    with pytest.raises(SharingRefused, match="--address"):
        read_hosts([], [text])


class Route:
    """A socket whose route leads where the test says; nothing is asked of the system."""

    own: ClassVar[dict[str, str]] = {}

    def __init__(self, *_: object) -> None:
        self.address = ""

    def __enter__(self) -> "Route":
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def connect(self, where: tuple[str, int]) -> None:
        if where[0] not in self.own:
            raise OSError("network is unreachable")
        self.address = self.own[where[0]]

    def getsockname(self) -> tuple[str, int]:
        return self.address, 1


def find_with(patch: pytest.MonkeyPatch, own: dict[str, str], name: str) -> Hosts:
    patch.setattr(Route, "own", own)
    patch.setattr(socket, "socket", Route)
    patch.setattr(socket, "gethostname", lambda: name)
    return find_own_hosts()


def test_this_machine_is_found_by_where_its_routes_lead(monkeypatch: pytest.MonkeyPatch) -> None:
    found = find_with(monkeypatch, {"192.168.255.254": "192.168.7.5"}, "Stand.home.arpa")
    assert found == Hosts((IPv4Address("192.168.7.5"),), ("stand.local", "stand.home.arpa"))


def test_an_address_on_the_open_internet_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    found = find_with(monkeypatch, {"192.0.2.1": "8.8.8.8", "10.255.255.254": "10.0.0.5"}, "x")
    assert found.addresses == (IPv4Address("10.0.0.5"),)


@pytest.mark.parametrize("name", ["localhost", "", "not a name", "192.168.1.5"])
def test_a_machine_without_a_name_of_its_own_or_a_network_has_no_hosts(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    assert find_with(monkeypatch, {}, name).texts == ()


def test_hosts_are_put_together_without_repetitions() -> None:
    one = Hosts((IPv4Address("10.0.0.5"),), ("a.local",))
    other = Hosts((IPv4Address("10.0.0.5"), IPv4Address("10.0.0.6")), ("b.local", "a.local"))
    assert one.and_also(other).texts == ("a.local", "b.local", "10.0.0.5", "10.0.0.6")
