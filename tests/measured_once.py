"""Sounds decoded and measured once in a process: hundreds of tests attach the same few tones.

Decoding, measuring and splitting are pure functions of the bytes of a clip. What a test puts in
their place stays in place, and a failure is never kept. What is decoded is decoded in this process
(`tests/decoded_here.py`).
"""

import hashlib
from collections.abc import Callable, Hashable
from pathlib import Path
from types import ModuleType

import pytest

from analysis.recording import Recording, TakeMeasurement, measure_recording
from tests.decoded_here import decode_here
from webapp.notebook.fingerings import logging
from webapp.notebook.loops import loops
from webapp.notebook.pieces import run_throughs
from webapp.notebook.recordings import splitting
from webapp.notebook.takes import incoming, plots

Progress = Callable[[float], None]


class MeasuredOnce:
    """What was decoded from some bytes, and what was found in the sound."""

    def __init__(self) -> None:
        self._sounds: dict[bytes, Recording] = {}
        self._kept: dict[int, object] = {}
        """Sounds and spans by their identity, which is theirs as long as they are kept."""
        self._measured: dict[tuple[int, float | None], TakeMeasurement] = {}
        self._found: dict[Hashable, tuple[object, list[float]]] = {}

    def decode(self, path: Path) -> Recording:
        """Decode a clip, or hand out what was decoded from the same bytes."""
        digest = hashlib.sha256(path.read_bytes()).digest()
        if digest not in self._sounds:
            sound: Recording = decode_here(path)
            self._sounds[digest] = sound
            self._kept |= {id(sound): sound, id(sound.samples): sound.samples}
        return self._sounds[digest]

    def measure(
        self, recording: Recording, *, expected_f0_hz: float | None = None
    ) -> TakeMeasurement:
        """Measure a take; one that was decoded here is measured once."""
        if self._kept.get(id(recording)) is not recording:
            return measure_recording(recording, expected_f0_hz=expected_f0_hz)
        key = (id(recording), expected_f0_hz)
        if key not in self._measured:
            self._measured[key] = measure_recording(recording, expected_f0_hz=expected_f0_hz)
        return self._measured[key]

    def once(self, find: Callable[..., object]) -> Callable[..., object]:
        """Return a search in samples that is done once and tells its progress each time."""

        def search(
            samples: object, *facts: object, progress: Progress, **wishes: Hashable
        ) -> object:
            if self._kept.get(id(samples)) is not samples:
                return find(samples, *facts, progress=progress, **wishes)
            spans = [each for each in facts if self._kept.get(id(each)) is each]
            key = (find, id(samples), *map(id, spans), *wishes.items())
            if key not in self._found:
                shares: list[float] = []

                def tell(share: float) -> None:
                    shares.append(share)
                    progress(share)

                found = find(samples, *facts, progress=tell, **wishes)
                self._found[key] = found, shares
                self._kept[id(found)] = found
                return found
            found, shares = self._found[key]
            for share in shares:
                progress(share)
            return found

        return search


_KEPT = MeasuredOnce()


def measure_once() -> pytest.MonkeyPatch:
    """Let all notebooks of this process share what was heard in equal clips, until undone."""
    return measure_once_in(incoming, splitting, plots, logging, loops, run_throughs)


def measure_once_in(*modules: ModuleType) -> pytest.MonkeyPatch:
    """Let what some modules decode and measure be shared with all others, until undone."""
    patch = pytest.MonkeyPatch()
    for module in modules:
        patch.setattr(module, "decode_clip", _KEPT.decode)
        if hasattr(module, "measure_recording"):
            patch.setattr(module, "measure_recording", _KEPT.measure)
        for name in ("split_takes", "measure_spans"):
            if hasattr(module, name):
                patch.setattr(module, name, _KEPT.once(getattr(module, name)))
    return patch
