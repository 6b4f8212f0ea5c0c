"""Format of a backup: one zip archive with a whole notebook, and a list of what it holds.

::

    manifest.json        format, schema of the database, when it was made, SHA-256 and size of all
    notebook.sqlite3     the database, as it stood at one moment
    clips/<name>         every sound file, under its own name in the clip store

Not in it: the key that signs cookies and whatever else belongs to one machine, copies made before
migrations, and what is only kept so as not to be computed again.

`read_listing` believes nothing of an archive: not its names, not its sizes, not its manifest.
"""

import json
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass

from webapp.notebook.safekeeping.archive_bounds import check_count, check_entries, is_device
from webapp.notebook.store.errors import BackupFromLater, BackupRefused
from webapp.notebook.store.notebook import DATABASE_FILE
from webapp.notebook.store.schema import newest_revision

FORMAT = "quartervent-backup"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"
DATABASE = DATABASE_FILE
CLIPS = "clips/"

_CLIP_NAME = re.compile(r"clips/[A-Za-z0-9_-]{1,80}(\.[A-Za-z0-9]{1,8})?")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_MOMENT = re.compile(r"[0-9T:+.-]{1,40}")
_SCHEMA = re.compile(r"[0-9]{4}")
_MOST_ENTRIES = 500_000
# One file takes some 180 bytes of the list; what is bounded before parsing needs no memory for it.
_MANIFEST_BYTES, _MANIFEST_BYTES_A_FILE = 1 << 16, 400
_MANIFEST_OBJECTS, _MANIFEST_LISTS = 8, 8


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What the manifest says of one file."""

    sha256: str
    byte_count: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """What an archive says it holds; `missing` clips were missing from the notebook itself."""

    schema: str
    made_at: str
    files: Mapping[str, FileFacts]
    missing: tuple[str, ...] = ()

    @property
    def clip_names(self) -> tuple[str, ...]:
        """The names of the clips in the clip store."""
        return tuple(name.removeprefix(CLIPS) for name in self.files if name != DATABASE)

    @property
    def total_bytes(self) -> int:
        """How much room everything needs."""
        return sum(facts.byte_count for facts in self.files.values())

    def write(self) -> str:
        """Write the manifest as text."""
        return json.dumps(
            {
                "format": FORMAT,
                "version": FORMAT_VERSION,
                "schema": self.schema,
                "made_at": self.made_at,
                "missing": list(self.missing),
                "files": {
                    name: {"sha256": facts.sha256, "bytes": facts.byte_count}
                    for name, facts in self.files.items()
                },
            },
            indent=1,
        )


def is_clip_entry(name: str) -> bool:
    """Whether a name in an archive is one that the clip store may have given."""
    clip = name.removeprefix(CLIPS)
    return _CLIP_NAME.fullmatch(name) is not None and not is_device(clip)


def read_listing(archive: zipfile.ZipFile, archive_bytes: int) -> Manifest:
    """Return the manifest of an archive whose entries are all as it says, and nothing else.

    Raises:
        BackupRefused: a name, a kind of entry, a size or the manifest itself is not as it must be.
        BackupFromLater: a newer version made it.
    """
    entries = archive.infolist()
    check_count(entries, _MOST_ENTRIES, BackupRefused)
    _check_manifest_is_there(archive)
    check_entries(entries, archive_bytes, is_known=_is_entry, refusal=BackupRefused)
    manifest = _read_manifest(_read_json(archive))
    _compare(manifest, entries)
    return manifest


def _check_manifest_is_there(archive: zipfile.ZipFile) -> None:
    if MANIFEST not in archive.namelist():
        raise BackupRefused(
            "This is no backup of a notebook: its list of contents (manifest.json) is missing. "
            "Choose a file that `quartervent backup` made."
        )


def _is_entry(name: str) -> bool:
    return name in (MANIFEST, DATABASE) or is_clip_entry(name)


def _read_json(archive: zipfile.ZipFile) -> object:
    count = len(archive.infolist())
    longest = _MANIFEST_BYTES + _MANIFEST_BYTES_A_FILE * count
    if archive.getinfo(MANIFEST).file_size > longest:
        raise _refuse_long()
    try:
        text = archive.read(MANIFEST).decode("utf-8")
        # An object for each file and two around them, one list; a few more are told apart later.
        if text.count("{") > _MANIFEST_OBJECTS + count or text.count("[") > _MANIFEST_LISTS:
            raise _refuse_long()
        read: object = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BackupRefused(
            "The list of contents of this archive (manifest.json) cannot be read. It is damaged, "
            "or no backup."
        ) from error
    return read


def _refuse_long() -> BackupRefused:
    return BackupRefused(
        "The list of contents of this archive is far longer than what it holds. Nothing was "
        "unpacked."
    )


def _read_manifest(read: object) -> Manifest:
    if not isinstance(read, dict) or read.get("format") != FORMAT:
        raise BackupRefused("The list of contents of this archive is not that of a notebook.")
    schema, version = read.get("schema"), read.get("version")
    if not isinstance(version, int) or not isinstance(schema, str) or not _SCHEMA.fullmatch(schema):
        raise BackupRefused("The list of contents of this archive does not say what it is of.")
    if version > FORMAT_VERSION or schema > newest_revision():
        raise BackupFromLater(
            f"This backup was made by a newer Quartervent (its format is {version}.{schema}). "
            "Restore it with that version. Nothing was changed."
        )
    files, missing = read.get("files"), read.get("missing", [])
    if not isinstance(files, dict) or not isinstance(missing, list):
        raise BackupRefused("The list of contents of this archive lists nothing.")
    facts = {str(name): _read_facts(name, each) for name, each in files.items()}
    if DATABASE not in facts:
        raise BackupRefused("This archive holds no database, so there is nothing to restore.")
    made_at = str(read.get("made_at"))
    # Both are shown to the player, so that neither may carry signs that a terminal obeys.
    return Manifest(
        schema,
        made_at if _MOMENT.fullmatch(made_at) else "an unknown day",
        facts,
        tuple(str(name) for name in missing if is_clip_entry(f"{CLIPS}{name}")),
    )


def _read_facts(name: object, read: object) -> FileFacts:
    sha256 = read.get("sha256") if isinstance(read, dict) else None
    byte_count = read.get("bytes") if isinstance(read, dict) else None
    if (
        not isinstance(sha256, str)
        or not _SHA256.fullmatch(sha256)
        or not isinstance(byte_count, int)
    ):
        raise BackupRefused(f"The list of contents does not say what “{str(name)[:60]}” must be.")
    return FileFacts(sha256, byte_count)


def _compare(manifest: Manifest, entries: list[zipfile.ZipInfo]) -> None:
    sizes = {entry.filename: entry.file_size for entry in entries if entry.filename != MANIFEST}
    listed = {name: facts.byte_count for name, facts in manifest.files.items()}
    strange = sorted(set(sizes.items()) ^ set(listed.items()))
    if strange:
        raise BackupRefused(
            f"“{strange[0][0]}” is not in this archive as its list of contents says. It is "
            "damaged or was changed; use another backup."
        )
