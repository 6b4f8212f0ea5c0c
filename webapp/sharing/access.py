"""Access of other devices: the hosts that are shared, who is signed in, and signing in."""

import hmac
import time
from dataclasses import dataclass, field

from webapp.notebook.store.errors import PassphraseMissing
from webapp.sharing.addresses import Hosts
from webapp.sharing.attempts import PassphraseAttempts
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import PassphraseHash, read_passphrase, sign_everyone_out

_HTTPS_PORT = 443


@dataclass(frozen=True, slots=True)
class SharedAccess:
    """One shared listener; the passphrase is read each time, since it may change meanwhile."""

    folder: SharingFolder
    hosts: Hosts
    port: int
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

    def is_signed_in(self, mark: object) -> bool:
        """Tell whether the mark in a cookie is the one of today's devices."""
        kept = self._kept()
        if kept is None or not isinstance(mark, str):
            return False
        return hmac.compare_digest(mark.encode(), kept.devices.encode())

    def enter(self, text: str) -> str | float:
        """Try a passphrase: return the mark for the cookie, else the seconds until the next try.

        Raises:
            PassphraseMissing: it was taken away meanwhile; nobody can sign in.
        """
        kept = read_passphrase(self.folder)
        wait_s = self.attempts.judge(lambda: kept.fits(text))
        return kept.devices if wait_s is None else wait_s

    def sign_everyone_out(self) -> None:
        """Ask every device for the passphrase again."""
        sign_everyone_out(self.folder)

    def _kept(self) -> PassphraseHash | None:
        try:
            return read_passphrase(self.folder)
        except PassphraseMissing:
            return None
