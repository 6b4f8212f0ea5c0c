"""Spectral change (novelty): the longest run of frames in which the same lines sound.

Frames two steps apart share no samples; where the amplitude spectra of two such frames point in
other directions (cosine similarity under one half), what sounds has changed. Notes that sound at
once last as one run, notes that follow each other make a run each. Comparing spectra across a
moment is the novelty of audio segmentation (Foote, "Automatic audio segmentation using a measure of
audio novelty", ICME 2000; from memory).
"""

from __future__ import annotations

import numpy as np

from analysis.recording.coarse_pitch import CoarseFrames

LOUD_SHARE = 0.03
ALIKE = 0.5
TOP_HZ = 4_000.0


def find_longest_run(frames: CoarseFrames) -> slice:
    """The longest run of loud frames without a change; empty where no frame is loud.

    Half-way through a change both sounds lie in one frame, which belongs to neither.
    """
    power = frames.power[:, : int(TOP_HZ / frames.bin_hz) + 1]
    total = frames.power.sum(axis=1)
    belongs = total > LOUD_SHARE * np.quantile(total, 0.9) if total.size else total > 0
    amplitude = np.sqrt(power)
    amplitude /= np.maximum(np.linalg.norm(amplitude, axis=1, keepdims=True), 1e-20)
    if len(amplitude) > 2:
        belongs[1:-1] &= np.einsum("ij,ij->i", amplitude[2:], amplitude[:-2]) >= ALIKE
    edges = np.diff(np.concatenate(([False], belongs, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if not starts.size:
        return slice(0, 0)
    longest = int(np.argmax(ends - starts))
    return slice(int(starts[longest]), int(ends[longest]))
