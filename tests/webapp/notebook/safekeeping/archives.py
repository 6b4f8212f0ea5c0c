"""Backups taken apart, and put together by hand."""

import hashlib
import json
import zipfile
from pathlib import Path
from typing import IO

Contents = dict[str, bytes]


def unpack(archive: Path | IO[bytes]) -> Contents:
    """Every entry of an archive by its name."""
    with zipfile.ZipFile(archive) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def put_together(path: Path, contents: Contents, **changes: object) -> Path:
    """Write an archive; `changes` are made to its manifest, which else fits what is in it."""
    entries = {name: each for name, each in contents.items() if name != "manifest.json"}
    manifest = json.loads(contents["manifest.json"])
    manifest["files"] = {
        name: {"sha256": hashlib.sha256(each).hexdigest(), "bytes": len(each)}
        for name, each in entries.items()
    }
    manifest.update(changes)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, each in entries.items():
            packed.writestr(name, each)
        packed.writestr("manifest.json", json.dumps(manifest))
    return path
