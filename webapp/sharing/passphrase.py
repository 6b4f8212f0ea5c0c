"""The passphrase for other devices: kept as a salted hash, and a mark of who is signed in.

Hash: scrypt (RFC 7914) with N = 2^17, r = 8, p = 1, the first of the settings that the OWASP
"Password Storage Cheat Sheet" names for scrypt: 128 MiB and about half a second a try. The text is
normalised as RFC 8265 section 4.2.2 asks (NFC, other spaces become the plain one), so that it is
the same from every keyboard. The cost is kept beside the hash and may grow later.

The devices' mark is random. It is made anew with every new passphrase, and when the player signs
every device out: a cookie that bears another mark is not signed in.
"""

import hashlib
import hmac
import json
import secrets
import unicodedata
from dataclasses import asdict, dataclass

from webapp.notebook.store.errors import PassphraseMissing, SharingRefused
from webapp.sharing.folder import SharingFolder

SHORTEST = 10
LONGEST = 200
WEAKEST_SCORE = 3  # of 4: safely unguessable, moderate protection from an offline attack (zxcvbn)
COST, BLOCK_SIZE, PARALLEL = 2**17, 8, 1
_SALT_BYTES = 16
_MARK_BYTES = 16
_MEMORY_BYTES_PER_UNIT = 128  # scrypt needs 128 * N * r bytes (RFC 7914, section 6)


@dataclass(frozen=True, slots=True)
class PassphraseHash:
    """What is kept of a passphrase, bytes as hexadecimal text."""

    cost: int
    block_size: int
    parallel: int
    salt: str
    hash: str
    devices: str

    def fits(self, text: str) -> bool:
        """Tell whether this is the passphrase, in the same time whatever differs."""
        made = _hash(text, bytes.fromhex(self.salt), (self.cost, self.block_size, self.parallel))
        return hmac.compare_digest(made, bytes.fromhex(self.hash))


def keep_passphrase(folder: SharingFolder, text: str) -> None:
    """Keep a new passphrase; every device is signed out by that.

    Raises:
        SharingRefused: it is too short, too long, or easy to guess.
    """
    length = len(_normalise(text))
    if not SHORTEST <= length <= LONGEST:
        raise SharingRefused(
            f"This passphrase has {length} characters; it needs {SHORTEST} to {LONGEST}. Four or "
            "five words that do not belong together are easy to keep in mind and hard to guess."
        )
    from zxcvbn import zxcvbn  # its word lists are read when a passphrase is chosen

    if zxcvbn(_normalise(text), max_length=LONGEST)["score"] < WEAKEST_SCORE:
        raise SharingRefused(
            "This passphrase is easy to guess: it follows a pattern, a keyboard or a list of "
            "common ones. Four or five words that do not belong together are easy to keep in mind "
            "and hard to guess."
        )
    salt = secrets.token_bytes(_SALT_BYTES)
    cost = (COST, BLOCK_SIZE, PARALLEL)
    _write(folder, PassphraseHash(*cost, salt.hex(), _hash(text, salt, cost).hex(), _new_mark()))


def read_passphrase(folder: SharingFolder) -> PassphraseHash:
    """Return what is kept.

    Raises:
        PassphraseMissing: there is none, or its file is damaged.
    """
    try:
        return PassphraseHash(**json.loads(folder.passphrase.read_text("utf-8")))
    except FileNotFoundError as error:
        raise PassphraseMissing(
            "There is no passphrase yet, and without one the notebook is not shared. "
            "Choose one with: quartervent passphrase"
        ) from error
    except (OSError, ValueError, TypeError) as error:
        raise PassphraseMissing(
            "The file of the passphrase cannot be read. Choose a new one with: "
            "quartervent passphrase"
        ) from error


def sign_everyone_out(folder: SharingFolder) -> None:
    """Give the devices a new mark, so that every one of them has to sign in again."""
    kept = read_passphrase(folder)
    _write(folder, PassphraseHash(**{**asdict(kept), "devices": _new_mark()}))


def _write(folder: SharingFolder, kept: PassphraseHash) -> None:
    folder.write(folder.passphrase, json.dumps(asdict(kept), indent=2).encode())


def _new_mark() -> str:
    return secrets.token_hex(_MARK_BYTES)


def _normalise(text: str) -> str:
    plain = "".join(" " if unicodedata.category(each) == "Zs" else each for each in text)
    return unicodedata.normalize("NFC", plain)


def _hash(text: str, salt: bytes, cost: tuple[int, int, int]) -> bytes:
    n, r, p = cost
    return hashlib.scrypt(
        _normalise(text).encode(),
        salt=salt,
        n=n,
        r=r,
        p=p,
        maxmem=2 * _MEMORY_BYTES_PER_UNIT * n * r,
    )
