"""Tables of a tube computed once in a run: all processes and notebooks share them.

Screenings and tables of sensitivities are pure functions of what their names say and take seconds.
Tests of how they are computed, stored and reported use `compute_anew`.
"""

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock

from analysis.finder import player_model
from analysis.finder.caching import FinderCache, Progress
from analysis.finder.tube import Tube

Read = Callable[[FinderCache, str], bytes | None]
Write = Callable[[FinderCache, str, bytes], None]
Prepare = Callable[[Tube, Progress], None]
_READ, _WRITE = FinderCache._read, FinderCache._write
_PREPARE = Tube.prepare


def compute_once(folder: Path) -> pytest.MonkeyPatch:
    """Let the finder look into a folder before it computes; undo the patch to end that."""
    folder.mkdir(parents=True, exist_ok=True)
    patch = pytest.MonkeyPatch()
    patch.setattr(FinderCache, "_read", _read_also_from(folder))
    patch.setattr(FinderCache, "_write", _write_also_to(folder))
    patch.setattr(Tube, "prepare", _prepare_in_turn(folder / "preparing"))
    patch.setattr(player_model, "_SHARED", FinderCache(folder))  # models without a notebook
    return patch


def compute_anew(patch: pytest.MonkeyPatch) -> None:
    """Let the finder compute everything again, as it does outside the tests."""
    patch.setattr(FinderCache, "_read", _READ)
    patch.setattr(FinderCache, "_write", _WRITE)
    patch.setattr(Tube, "prepare", _PREPARE)


def _read_also_from(folder: Path) -> Read:
    def read(cache: FinderCache, name: str) -> bytes | None:
        kept = _READ(cache, name)
        path = folder / name
        if kept is None and path.is_file():
            kept = path.read_bytes()
            _WRITE(cache, name, kept)
        return kept

    return read


def _write_also_to(folder: Path) -> Write:
    def write(cache: FinderCache, name: str, content: bytes) -> None:
        _WRITE(cache, name, content)
        with tempfile.NamedTemporaryFile(dir=folder, delete=False) as file:
            file.write(content)
        Path(file.name).replace(folder / name)

    return write


def _prepare_in_turn(lock: Path) -> Prepare:
    def prepare(tube: Tube, report: Progress) -> None:
        with FileLock(lock):
            tube._read_stored()  # another process may have come first
            _PREPARE(tube, report)

    return prepare
