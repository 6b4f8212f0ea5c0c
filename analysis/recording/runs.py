"""Runs of coarse frames in which one note is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse import FRAME_S, CoarseFrames, CoarsePitch, Floats

MIN_CLARITY = 0.3
MAX_STEP_CENTS = 40.0  # from one frame to the next, 93 ms on: beyond it a new note starts


@dataclass(frozen=True, slots=True)
class Run:
    """One held note: the middles of its frames, their pitch and their power."""

    times_s: Floats
    f0_hz: Floats
    power: Floats

    @property
    def from_s(self) -> float:
        """Where the first frame starts."""
        return float(self.times_s[0]) - FRAME_S / 2

    @property
    def to_s(self) -> float:
        """Where the last frame ends."""
        return float(self.times_s[-1]) + FRAME_S / 2

    @property
    def median_hz(self) -> float:
        """The middle pitch."""
        return float(np.median(self.f0_hz))

    @property
    def level(self) -> float:
        """Mean power of its frames."""
        return float(self.power.mean())


def find_runs(frames: CoarseFrames, pitches: Sequence[CoarsePitch | None]) -> tuple[Run, ...]:
    """Held notes, longest first; one odd frame inside a note does not end it."""
    f0_hz = np.array(
        [p.f0_hz if p is not None and p.clarity >= MIN_CLARITY else np.nan for p in pitches]
    )
    labels = _label_notes(f0_hz)
    power = frames.power.sum(axis=1)
    runs = []
    for label in range(labels.max(initial=-1) + 1):
        inside = labels == label
        runs.append(Run(frames.centres_s[inside], f0_hz[inside], power[inside]))
    return tuple(sorted(runs, key=lambda run: -len(run.times_s)))


def _label_notes(f0_hz: Floats) -> NDArray[np.intp]:
    """The number of the note each frame belongs to, -1 for none."""
    labels = np.full(len(f0_hz), -1, dtype=np.intp)
    newest = -1
    for at in range(len(f0_hz)):
        if np.isnan(f0_hz[at]):
            continue
        # the frame before, or the one before that when the frame between belongs to neither
        for before in (at - 1, at - 2):
            if before >= 0 and labels[before] >= 0 and _is_same(f0_hz[before], f0_hz[at]):
                labels[at] = labels[before]
                break
        else:
            newest += 1
            labels[at] = newest
    return labels


def _is_same(one_hz: float, other_hz: float) -> bool:
    return bool(abs(1200 * np.log2(one_hz / other_hz)) <= MAX_STEP_CENTS)
