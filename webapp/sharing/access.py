"""Access of other devices: the hosts that are shared, who is signed in, and signing in."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from webapp.notebook.store.errors import PassphraseMissing
from webapp.sharing.addresses import Hosts
from webapp.sharing.attempts import PassphraseAttempts
from webapp.sharing.devices import (
    Device,
    find_device,
    read_devices,
    sign_device_in,
    sign_device_out,
)
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import PassphraseHash, read_passphrase, sign_everyone_out

_HTTPS_PORT = 443


@dataclass(frozen=True, slots=True)
class SharedAccess:
    """One shared listener; the passphrase is read each time, since it may change meanwhile."""

    folder: SharingFolder
    hosts: Hosts
    port: int
    now: Callable[[], datetime]
    attempts: PassphraseAttempts = field(default_factory=lambda: PassphraseAttempts(time.monotonic))

    @property
    def host_headers(self) -> frozenset[str]:
        """Every Host header that names the shared notebook."""
        with_port = {f"{host}:{self.port}" for host in self.hosts.texts}
        return frozenset(with_port | (set(self.hosts.texts) if self.port == _HTTPS_PORT else set()))

    @property
    def origins(self) -> tuple[str, ...]:
        """The addresses to open on another device."""
        hosts = [each for each in self.hosts.names if each != "localhost"]
        hosts += [str(each) for each in self.hosts.addresses if not each.is_loopback]
        return tuple(f"https://{host}:{self.port}/" for host in hosts or self.hosts.texts)

    def is_signed_in(self, token: object) -> bool:
        """Tell whether the token in a cookie is that of a device that is signed in."""
        return self.find_device(token) is not None

    def find_device(self, token: object) -> Device | None:
        """Return the device that a cookie's token belongs to, if it is signed in."""
        kept = self._kept()
        if kept is None:
            return None
        return find_device(self.folder, token, kept.devices, self.now())

    def enter(self, text: str, name: str = "") -> str | float:
        """Try a passphrase: return the token for the cookie, else the seconds until the next try.

        Raises:
            PassphraseMissing: it was taken away meanwhile; nobody can sign in.
        """
        kept = read_passphrase(self.folder)
        wait_s = self.attempts.judge(lambda: kept.fits(text))
        if wait_s is not None:
            return wait_s
        return sign_device_in(self.folder, name, kept.devices, self.now())

    def leave(self, token: object) -> None:
        """Sign out the device that a cookie's token belongs to: its cookie is dead."""
        sign_device_out(self.folder, token=token)

    def sign_everyone_out(self) -> None:
        """Ask every device for the passphrase again."""
        sign_everyone_out(self.folder)

    def _kept(self) -> PassphraseHash | None:
        try:
            return read_passphrase(self.folder)
        except PassphraseMissing:
            return None


def list_devices(folder: SharingFolder) -> tuple[Device, ...]:
    """Return the devices that are signed in, the newest first."""
    try:
        mark = read_passphrase(folder).devices
    except PassphraseMissing:
        return ()
    return tuple(each for each in reversed(read_devices(folder)) if each.mark == mark)
