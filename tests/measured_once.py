"""Sounds decoded and measured once in a process: hundreds of tests attach the same few tones.

Decoding, measuring and splitting are pure functions of the bytes of a clip. What a test puts in
their place stays in place, and a failure is never kept.
"""

import hashlib
from collections.abc import Callable, Hashable
from pathlib import Path

import pytest

from analysis.recording import Recording, TakeMeasurement, decode_clip, measure_recording
from webapp.notebook.fingerings import logging
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
            sound = decode_clip(path)
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

        def search(samples: object, *facts: object, progress: Progress) -> object:
            if self._kept.get(id(samples)) is not samples:
                return find(samples, *facts, progress=progress)
            spans = [each for each in facts if self._kept.get(id(each)) is each]
            key = (find, id(samples), *map(id, spans))
            if key not in self._found:
                shares: list[float] = []

                def tell(share: float) -> None:
                    shares.append(share)
                    progress(share)

                found = find(samples, *facts, progress=tell)
                self._found[key] = found, shares
                self._kept[id(found)] = found
                return found
            found, shares = self._found[key]
            for share in shares:
                progress(share)
            return found

        return search


def measure_once() -> None:
    """Let all notebooks of this process share what was heard in equal clips."""
    patch, kept = pytest.MonkeyPatch(), MeasuredOnce()
    for module in (incoming, splitting, plots, logging):
        patch.setattr(module, "decode_clip", kept.decode)
    patch.setattr(incoming, "measure_recording", kept.measure)
    for name in ("split_takes", "measure_spans"):
        patch.setattr(splitting, name, kept.once(getattr(splitting, name)))
