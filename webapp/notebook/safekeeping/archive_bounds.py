"""Bounds of every archive that is read: names, kinds of entries, and what it would grow to.

Nothing of an archive is believed. What to be afraid of: CWE-22 (path traversal), CWE-59 (link
following), CWE-409 (decompression bomb).
"""

import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from webapp.notebook.store.errors import Refused

# What reading a file that only looks like an archive may raise.
UNREADABLE = (
    zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError,
    OverflowError, struct.error, OSError,
)  # fmt: skip
CHUNK_BYTES = 1 << 20

# Names that Windows keeps for devices, whatever their ending ("Naming Files, Paths, and
# Namespaces", from memory).
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
# A notebook shrinks by a few times at most; beyond both, an archive wants to fill the disk.
_ORDINARY_BYTES = 1 << 30
_MOST_TIMES_THE_ARCHIVE = 100
_ENCRYPTED_BIT = 0x1


def is_device(name: str) -> bool:
    """Whether a file name is one that a system keeps for a device."""
    return _DEVICES.fullmatch(name) is not None


def check_count(entries: Sequence[zipfile.ZipInfo], most: int, refusal: type[Refused]) -> None:
    """Refuse an archive of more entries than there can be, before anything else is looked at.

    Raises `refusal`.
    """
    if len(entries) > most:
        raise refusal(f"This archive lists {len(entries)} files; no notebook has so many.")


def check_entries(
    entries: Sequence[zipfile.ZipInfo],
    archive_bytes: int,
    *,
    is_known: Callable[[str], bool],
    refusal: type[Refused],
) -> None:
    """Refuse names that are not known, special entries, and an archive that would grow too far.

    Raises `refusal`.
    """
    _check_names([entry.filename for entry in entries], is_known, refusal)
    for entry in entries:
        _check_kind(entry, refusal)
    total = sum(entry.file_size for entry in entries)
    if total > max(_ORDINARY_BYTES, _MOST_TIMES_THE_ARCHIVE * archive_bytes):
        raise refusal(
            f"This archive would grow from {_megabytes(archive_bytes)} to {_megabytes(total)} MB. "
            "No notebook shrinks so far, so it was not unpacked."
        )


@contextmanager
def readable(words: str, refusal: type[Refused]) -> Iterator[None]:
    """Refuse in these words what cannot be read as an archive. Raises `refusal`."""
    try:
        yield
    except UNREADABLE as error:
        raise refusal(words) from error


def read_chunks(
    archive: zipfile.ZipFile, name: str, *, words: str, refusal: type[Refused]
) -> Iterator[bytes]:
    """Read an entry piece by piece. Raises `refusal` in these words where it cannot be read."""
    with readable(words, refusal):
        packed = archive.open(name)
    with packed:
        while True:
            with readable(words, refusal):
                chunk = packed.read(CHUNK_BYTES)
            if not chunk:
                return
            yield chunk


def _check_names(
    names: Sequence[str], is_known: Callable[[str], bool], refusal: type[Refused]
) -> None:
    for name in names:
        if not is_known(name):
            raise refusal(
                f"This archive holds “{name[:60]}”, which is no part of a notebook. Nothing was "
                "unpacked."
            )
    # Some disks take capitals and small letters for the same.
    if len({name.lower() for name in names}) < len(names):
        raise refusal("This archive holds two files of the same name. Nothing was unpacked.")


def _check_kind(entry: zipfile.ZipInfo, refusal: type[Refused]) -> None:
    kind = stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        raise refusal(
            f"“{entry.filename}” in this archive is a link or another special file, not a plain "
            "one. Nothing was unpacked."
        )
    if entry.flag_bits & _ENCRYPTED_BIT:
        raise refusal("This archive is encrypted. Decrypt it first.")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise refusal(
            f"“{entry.filename}” is packed in a way that backups are not. Nothing was unpacked."
        )


def _megabytes(byte_count: int) -> str:
    return f"{byte_count / 1e6:,.0f}"
