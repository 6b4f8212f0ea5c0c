"""Checks of samples before any measurement: readable, silent, clipped, quiet.

Samples have shape (n,) everywhere; levels are relative to full scale (samples in -1 to 1). A take
is silent when its loudest 20 ms stay under -80 dB, which is where the noise of a 16-bit recorder
with the input off lies (16 bits: -98 dB for a full-scale sine's quantisation noise, by the 6.02 n +
1.76 dB formula).
"""

from __future__ import annotations

import mmap
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.floating[Any]]

MIN_SAMPLE_RATE_HZ = 8_000.0
MAX_SAMPLE_RATE_HZ = 192_000.0
SILENCE_RMS = 10 ** (-80 / 20)
DROPOUT_S = 0.004  # as the page's recorder has it
QUIET_RMS = 10 ** (-54 / 20)
BLOCK_FRAMES = 500
BLOCK_SAMPLES = 1 << 20
ABSURD_LEVEL = 1e6  # 120 dB above full scale: numbers, but no sound


def release_pages(samples: Samples) -> None:
    """Let go of what was read of samples, of any shape, that lie in a file (see `decode`).

    They are read again when they are used again.

    Without it a long recording is soon in memory as a whole. Samples that don't lie in a file are
    left alone, as is everything on systems without such advice.
    """
    base: object = samples
    while isinstance(base, np.ndarray):
        base = base.base
    if isinstance(base, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED"):
        base.madvise(mmap.MADV_DONTNEED)


def _iterate_blocks(samples: Samples) -> Iterator[Samples]:
    """The samples piece by piece, each let go after use."""
    for at in range(0, len(samples), BLOCK_SAMPLES):
        yield samples[at : at + BLOCK_SAMPLES]
        release_pages(samples)


def is_readable(samples: Samples, sample_rate_hz: float) -> bool:
    """Whether this is one channel, shape (n,), of sensible samples at a rate from 8 to 192 kHz."""
    if samples.ndim != 1 or samples.size == 0 or samples.dtype.kind != "f":
        return False
    # a NaN rate fails both comparisons
    if not MIN_SAMPLE_RATE_HZ <= sample_rate_hz <= MAX_SAMPLE_RATE_HZ:
        return False
    # comparisons with NaN are false
    return all(
        block.min() > -ABSURD_LEVEL and block.max() < ABSURD_LEVEL
        for block in _iterate_blocks(samples)
    )


def find_loudest_rms(samples: Samples, sample_rate_hz: float) -> float:
    """RMS of the loudest 20 ms of samples of shape (n,), the mean of each 20 ms removed."""
    size = min(len(samples), int(0.02 * sample_rate_hz))
    frames = samples[: len(samples) // size * size].reshape(-1, size)
    loudest = 0.0
    for at in range(0, len(frames), BLOCK_FRAMES):
        variances = np.var(frames[at : at + BLOCK_FRAMES], axis=1, dtype=np.float64)
        loudest = max(loudest, float(variances.max()))
        release_pages(samples)
    return float(np.sqrt(loudest))


def find_mean_power(samples: Samples) -> float:
    """Mean square of samples of shape (n,)."""
    total = sum(float(np.dot(block, block)) for block in _iterate_blocks(samples))
    return total / len(samples)


def is_clipped(samples: Samples) -> bool:
    """Whether the wave, shape (n,), is cut flat at its upper or lower extreme.

    Near its crest a smooth wave is a parabola, so it spends 2.4 times as long in the outermost
    band of levels as in the next band of the same width (sqrt(1) to sqrt(2) - sqrt(1)), whatever
    the width. A cut wave spends far longer. The band is 0.1% of the peak, or 1.5 steps of a
    coarsely quantised recording. Limits: clipping that was low-pass filtered afterwards, as by an
    mp3 encoder, is not seen.
    """
    highest = max(float(block.max()) for block in _iterate_blocks(samples))
    lowest = min(float(block.min()) for block in _iterate_blocks(samples))
    extremes = ((1, highest), (-1, -lowest))
    return any(
        _is_cut(_collect_crest(samples, sign, extreme), len(samples))
        for sign, extreme in extremes
        if extreme > 0
    )


def find_flat_share(samples: Samples) -> float:
    """Share of samples, shape (n,), within 1% of the upper or lower extreme."""
    highest = max(float(block.max()) for block in _iterate_blocks(samples))
    lowest = min(float(block.min()) for block in _iterate_blocks(samples))
    flat = sum(
        int(np.count_nonzero((block > 0.99 * highest) | (block < 0.99 * lowest)))
        for block in _iterate_blocks(samples)
    )
    return flat / len(samples)


def has_dropout(samples: Samples, sample_rate_hz: float) -> bool:
    """Whether sound was lost inside a note of shape (n,): a run of exact zeros of `DROPOUT_S`.

    No microphone gives them while a note sounds; a recorder that misses a buffer does.
    """
    longest, run = round(DROPOUT_S * sample_rate_hz), 0
    for block in _iterate_blocks(samples):
        places = np.flatnonzero(block)
        if len(places) == 0:
            run += len(block)
            continue
        runs = np.diff(places, prepend=-1 - run, append=len(block)) - 1
        if runs[:-1].max() >= longest:
            return True
        run = int(runs[-1])
    return run >= longest


def _collect_crest(samples: Samples, sign: int, extreme: float) -> Samples:
    """What lies above 0.8 of the extreme on one side; in blocks, so that memory follows that."""
    return np.concatenate(
        [sign * block[sign * block > 0.8 * extreme] for block in _iterate_blocks(samples)]
    )


def _is_cut(crest: Samples, count: int) -> bool:
    """Whether the levels near one extreme (at least the top fifth) end in a flat of a wave."""
    peak = float(crest.max())
    steps = np.diff(np.unique(crest[crest > 0.9 * peak][:20_000]))
    width = max(1e-3 * peak, 1.5 * float(steps.min(initial=peak)))
    if width > 0.1 * peak:  # hardly any steps: a flat top can't be told from a coarse one
        return False
    outermost = np.count_nonzero(crest > peak - width)
    next_band = np.count_nonzero(crest > peak - 2 * width) - outermost
    return bool(outermost > max(1e-3 * count, 6.0 * next_band))
