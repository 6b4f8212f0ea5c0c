"""Names of this machine on the network it is in, and which names a certificate may bear.

IPv4 only: the shared listener listens on IPv4, and every home router hands such addresses out.

Sources: RFC 1123 section 2.1 (host names); RFC 1918, RFC 3927, RFC 5737 (addresses that are not on
the open internet, by `ipaddress.is_global` from IANA's registries); RFC 6762 (`.local`).
"""

import re
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import AddressValueError, IPv4Address

from webapp.notebook.store.errors import SharingRefused

# One address in each block that home and school networks use, and one for any other route.
_PROBES = ("192.168.255.254", "10.255.255.254", "172.31.255.254", "192.0.2.1")
_ANY_PORT = 9
_LABEL = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)")
_LONGEST_NAME = 253
_UNNAMED = frozenset({"localhost", "localhost.localdomain", ""})


@dataclass(frozen=True, slots=True)
class Hosts:
    """Addresses and names of one machine, without repetitions."""

    addresses: tuple[IPv4Address, ...]
    names: tuple[str, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """All of them as they stand in a browser's address line, names first."""
        return (*self.names, *map(str, self.addresses))

    def and_also(self, other: "Hosts") -> "Hosts":
        """Return these and others."""
        return Hosts(
            tuple(dict.fromkeys((*self.addresses, *other.addresses))),
            tuple(dict.fromkeys((*self.names, *other.names))),
        )


def find_own_hosts() -> Hosts:
    """Return what this machine is called now; what lies on the open internet is left out."""
    return Hosts(_find_addresses(), _name_machine(socket.gethostname()))


def read_hosts(addresses: Iterable[str], names: Iterable[str]) -> Hosts:
    """Read addresses and names that were typed.

    Raises:
        SharingRefused: one of them is none, or lies on the open internet.
    """
    return Hosts(tuple(map(_read_address, addresses)), tuple(map(_read_name, names)))


def _find_addresses() -> tuple[IPv4Address, ...]:
    """Ask the system which of its addresses leads where; no packet is sent for that."""
    found: dict[IPv4Address, None] = {}
    for probe in _PROBES:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as route:
            try:
                route.connect((probe, _ANY_PORT))
            except OSError:
                continue  # no way there
            address = IPv4Address(route.getsockname()[0])
        if not (address.is_global or address.is_loopback or address.is_unspecified):
            found[address] = None
    return tuple(found)


def _name_machine(host_name: str) -> tuple[str, ...]:
    name = host_name.casefold().rstrip(".")
    if name in _UNNAMED or not _is_name(name):
        return ()
    first = name.partition(".")[0]
    return tuple(dict.fromkeys((f"{first}.local", name)))


def _read_address(text: str) -> IPv4Address:
    try:
        address = IPv4Address(text.strip())
    except AddressValueError as error:
        raise SharingRefused(
            f"“{text}” is not an address such as 192.168.1.20. A name goes with --name."
        ) from error
    if address.is_global or address.is_unspecified or address.is_multicast:
        raise SharingRefused(
            f"{address} is not an address of a network of your own. The notebook is shared only "
            "there, with addresses such as 192.168.1.20 or 10.0.0.5."
        )
    return address


def _read_name(text: str) -> str:
    name = text.strip().casefold().rstrip(".")
    if not _is_name(name):
        raise SharingRefused(
            f"“{text}” is not the name of a machine. Give one such as music-room.local; an address "
            "goes with --address."
        )
    return name


def _is_name(name: str) -> bool:
    labels = name.split(".")
    is_number = labels[-1].isdigit()  # an address, or half of one
    return len(name) <= _LONGEST_NAME and not is_number and all(map(_LABEL.fullmatch, labels))
