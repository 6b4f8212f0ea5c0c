"""Screenings computed once in a run: every process and every notebook of the tests shares them.

A screening is a pure function of its fingerprint and takes seconds. Tests of how one is computed,
stored and reported use `compute_anew`.
"""

import mmap
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from analysis.acoustics import Geometry, OutdatedScreening, Screening, find_fingerprint, screen
from analysis.finder import caching
from analysis.keywork import Layout


def screen_once(folder: Path) -> pytest.MonkeyPatch:
    """Let the finder look into a folder before it screens a tube; undo the patch to end that."""
    patch = pytest.MonkeyPatch()
    patch.setattr(caching, "screen", _remember(folder))
    return patch


def compute_anew(patch: pytest.MonkeyPatch) -> None:
    """Let the finder compute every screening again, as it does outside the tests."""
    patch.setattr(caching, "screen", screen)


def _remember(folder: Path) -> Callable[..., Screening]:
    def screen_or_read(
        geometry: Geometry,
        layout: Layout,
        *,
        temperature_c: float,
        shaded_key_ids: Iterable[str] = (),
        progress: Callable[[float], None] | None = None,
    ) -> Screening:
        shaded = tuple(shaded_key_ids)
        fingerprint = find_fingerprint(
            geometry, layout, temperature_c=temperature_c, shaded_key_ids=shaded
        )
        path = folder / fingerprint
        try:
            with path.open("rb") as stored:
                mapped = mmap.mmap(stored.fileno(), 0, access=mmap.ACCESS_READ)
            return Screening.from_bytes(mapped, fingerprint=fingerprint)
        except (OSError, OutdatedScreening):
            pass
        made = screen(
            geometry,
            layout,
            temperature_c=temperature_c,
            shaded_key_ids=shaded,
            progress=progress,
        )
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder, delete=False) as file:
            file.write(made.to_bytes())
        Path(file.name).replace(path)
        return made

    return screen_or_read
