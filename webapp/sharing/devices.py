"""Devices that are signed in, each a record of its own, so that one can be signed out alone.

A device's cookie carries a random token; the file `devices.json` keeps its SHA-256 only, so that
nobody gets in with what is read there. A record belongs to one passphrase and one sign-out of all:
it counts only while it bears the mark that the passphrase's file has (`passphrase`). A cookie is
dead once its record is gone.
"""

import hashlib
import json
import secrets
import threading
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta

from webapp.sharing.folder import SharingFolder

MOST_DEVICES = 50
NAME_CHARACTERS = 60
SEEN_EVERY = timedelta(minutes=10)  # so often a visit is written down
_TOKEN_BYTES = 32
_ID_BYTES = 8
_LOCK = threading.Lock()  # of this process; another one replaces the file whole


@dataclass(frozen=True, slots=True)
class Device:
    """A device that signed in; moments in ISO format, UTC."""

    id: str
    name: str
    token_hash: str
    mark: str
    signed_in_at: str
    last_seen_at: str

    @property
    def last_seen(self) -> datetime:
        """When it was seen last, to some minutes."""
        return datetime.fromisoformat(self.last_seen_at)


def sign_device_in(folder: SharingFolder, name: str, mark: str, now: datetime) -> str:
    """Keep a record of a device, and return the token for its cookie."""
    token = secrets.token_hex(_TOKEN_BYTES)
    moment = now.isoformat(timespec="seconds")
    device = Device(
        id=secrets.token_hex(_ID_BYTES),
        name=" ".join(name.split())[:NAME_CHARACTERS] or "A device",
        token_hash=_hash(token),
        mark=mark,
        signed_in_at=moment,
        last_seen_at=moment,
    )
    with _LOCK:
        kept = [each for each in read_devices(folder) if each.mark == mark]
        _write(folder, [*kept, device][-MOST_DEVICES:])
    return token


def find_device(folder: SharingFolder, token: object, mark: str, now: datetime) -> Device | None:
    """Return the device that a cookie's token belongs to, and write down that it was seen."""
    if not isinstance(token, str):
        return None
    wanted = _hash(token)
    found = next(
        (each for each in read_devices(folder) if each.token_hash == wanted and each.mark == mark),
        None,
    )
    if found is not None and now - found.last_seen > SEEN_EVERY:
        with _LOCK:
            moment = now.isoformat(timespec="seconds")
            seen = replace(found, last_seen_at=moment)
            rows = read_devices(folder)
            _write(folder, [seen if each.id == found.id else each for each in rows])
    return found


def sign_device_out(folder: SharingFolder, *, device_id: str = "", token: object = None) -> bool:
    """Forget a device, by its number or by its cookie's token; tell whether it was there."""
    wanted = _hash(token) if isinstance(token, str) else ""
    with _LOCK:
        before = read_devices(folder)
        after = [each for each in before if each.id != device_id and each.token_hash != wanted]
        if len(after) < len(before):
            _write(folder, after)
        return len(after) < len(before)


def read_devices(folder: SharingFolder) -> tuple[Device, ...]:
    """Return all records; none where the file is missing or cannot be read."""
    try:
        return tuple(Device(**each) for each in json.loads(folder.devices.read_text("utf-8")))
    except (OSError, ValueError, TypeError):
        return ()


def _write(folder: SharingFolder, devices: Sequence[Device]) -> None:
    content = json.dumps([asdict(each) for each in devices], ensure_ascii=False, indent=2)
    folder.write(folder.devices, content.encode("utf-8"))


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
