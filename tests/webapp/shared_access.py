"""Access for other devices, with an invented address, name and passphrase."""

from datetime import UTC, datetime
from ipaddress import IPv4Address
from pathlib import Path

import pytest
from flask import Flask

from tests.webapp.browsing import Browser
from webapp.app import create_app, create_shared_app
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.notebook import Notebook
from webapp.sharing import passphrase
from webapp.sharing.access import SharedAccess
from webapp.sharing.addresses import Hosts
from webapp.sharing.attempts import PassphraseAttempts
from webapp.sharing.certificates import make_certificate
from webapp.sharing.folder import SharingFolder

PASSPHRASE = "slow reeds speak softly"
HOSTS = Hosts((IPv4Address("192.168.7.5"),), ("music-room.local",))
LOOPBACK = Hosts((IPv4Address("127.0.0.1"),), ("localhost",))
PORT = 8766
SHARED_ORIGIN = f"https://192.168.7.5:{PORT}"
CHEAP_COST = 2**4


class Clock:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        """Return the seconds."""
        return self.now_s


def hash_cheaply(patch: pytest.MonkeyPatch) -> None:
    """Let passphrases be hashed at a cost that tests can pay many times."""
    patch.setattr(passphrase, "COST", CHEAP_COST)


def prepare(notebook_folder: Path, hosts: Hosts = LOOPBACK) -> SharingFolder:
    """Make certificate and passphrase for a notebook."""
    folder = SharingFolder.of(notebook_folder)
    make_certificate(folder, hosts, now=datetime.now(UTC))
    with pytest.MonkeyPatch.context() as patch:
        hash_cheaply(patch)
        passphrase.keep_passphrase(folder, PASSPHRASE)
    return folder


class Shared:
    """One notebook with its two applications, who may enter the shared one, and its clock."""

    def __init__(self, notebook: Notebook) -> None:
        self.notebook = notebook
        self.clock = Clock()
        folder = SharingFolder.of(notebook.folder)
        with pytest.MonkeyPatch.context() as patch:
            hash_cheaply(patch)
            passphrase.keep_passphrase(folder, PASSPHRASE)
        self.access = SharedAccess(folder, HOSTS, PORT, now_utc, PassphraseAttempts(self.clock))
        self.local: Flask = create_app(notebook, access=self.access)
        self.app: Flask = create_shared_app(self.local, self.access)

    def device(self) -> Browser:
        """A browser on another device, not signed in."""
        return Browser(self.app, SHARED_ORIGIN)

    def signed_in_device(self) -> Browser:
        """A browser on another device, signed in."""
        device = self.device()
        page = device.get("/sign-in")
        answer = device.send(page, page.form("/sign-in"), fields={"passphrase": PASSPHRASE})
        assert answer.status_code == 303
        return device


def try_in(device: Browser, text: str) -> tuple[int, str]:
    """Try a passphrase; return the status and how long to wait."""
    page = device.get("/sign-in")
    answer = device.send(page, page.form("/sign-in"), fields={"passphrase": text})
    return answer.status_code, answer.headers.get("Retry-After", "")
