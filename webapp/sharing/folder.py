"""The folder `sharing/` of a notebook: keys, certificates, the hash of the passphrase.

Every file is written beside its place, flushed, and moved there: never half a key. All of them can
be read by their owner only (mode 0600), the folder too (0700).
"""

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

_OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True)
class SharingFolder:
    """Where everything for sharing lies."""

    path: Path

    @classmethod
    def of(cls, notebook_folder: Path) -> "SharingFolder":
        """Return the sharing folder of a notebook; it need not be there yet."""
        return cls(notebook_folder / "sharing")

    @property
    def authority(self) -> Path:
        """The authority's certificate."""
        return self.path / "authority.pem"

    @property
    def authority_key(self) -> Path:
        """The authority's secret key: whoever has it can make certificates."""
        return self.path / "authority.key"

    @property
    def handout(self) -> Path:
        """The authority's certificate once more, in the form that tablets take (DER)."""
        return self.path / "quartervent-authority.crt"

    @property
    def server(self) -> Path:
        """The server's certificate, followed by the authority's."""
        return self.path / "server.pem"

    @property
    def server_key(self) -> Path:
        """The server's secret key."""
        return self.path / "server.key"

    @property
    def passphrase(self) -> Path:
        """The hash of the passphrase."""
        return self.path / "passphrase.json"

    @property
    def devices(self) -> Path:
        """The devices that are signed in."""
        return self.path / "devices.json"

    def write(self, path: Path, content: bytes) -> None:
        """Write one of the files whole or not at all."""
        self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
        draft = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            draft.replace(path)
        finally:
            draft.unlink(missing_ok=True)

    def remove_passphrase(self) -> bool:
        """Forget the passphrase; tell whether there was one."""
        was_there = self.passphrase.is_file()
        self.passphrase.unlink(missing_ok=True)
        return was_there
