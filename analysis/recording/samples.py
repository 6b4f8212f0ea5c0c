"""Samples before any measurement: are they usable at all, silent, clipped, quiet?

Levels are relative to full scale (samples in -1 to 1). A take is silent when its loudest 20 ms stay
under -80 dB, which is where the noise of a 16-bit recorder with the input off lies (16 bits:
-98 dB for a full-scale sine's quantisation noise, by the 6.02 n + 1.76 dB formula).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.floating[Any]]

MIN_SAMPLE_RATE_HZ = 8_000.0
MAX_SAMPLE_RATE_HZ = 192_000.0
SILENCE_RMS = 10 ** (-80 / 20)
QUIET_RMS = 10 ** (-54 / 20)
BLOCK_FRAMES = 500
ABSURD_LEVEL = 1e6  # 120 dB above full scale: numbers, but no sound


def is_readable(samples: Samples, sample_rate_hz: float) -> bool:
    """Whether this is one channel of sensible samples at a rate from 8 to 192 kHz."""
    if samples.ndim != 1 or samples.size == 0 or samples.dtype.kind != "f":
        return False
    # a NaN rate fails both comparisons
    if not MIN_SAMPLE_RATE_HZ <= sample_rate_hz <= MAX_SAMPLE_RATE_HZ:
        return False
    # comparisons with NaN are false
    lowest, highest = float(samples.min()), float(samples.max())
    return lowest > -ABSURD_LEVEL and highest < ABSURD_LEVEL


def find_loudest_rms(samples: Samples, sample_rate_hz: float) -> float:
    """RMS of the loudest 20 ms, the mean of each 20 ms removed."""
    size = min(len(samples), int(0.02 * sample_rate_hz))
    frames = samples[: len(samples) // size * size].reshape(-1, size)
    blocks = (frames[at : at + BLOCK_FRAMES] for at in range(0, len(frames), BLOCK_FRAMES))
    return float(np.sqrt(max(np.var(block, axis=1, dtype=np.float64).max() for block in blocks)))


def is_clipped(samples: Samples) -> bool:
    """Whether the wave is cut flat at its upper or lower extreme.

    Near its crest a smooth wave is a parabola, so it spends 2.4 times as long in the outermost
    band of levels as in the next band of the same width (sqrt(1) to sqrt(2) - sqrt(1)), whatever
    the width. A cut wave spends far longer. The band is 0.1% of the peak, or 1.5 steps of a
    coarsely quantised recording. Limits: clipping that was low-pass filtered afterwards, as by an
    mp3 encoder, is not seen.
    """
    highest, lowest = float(samples.max()), float(samples.min())
    upper = samples[samples > 0.8 * highest] if highest > 0 else samples[:0]
    lower = -samples[samples < 0.8 * lowest] if lowest < 0 else samples[:0]
    return any(_is_cut(crest, len(samples)) for crest in (upper, lower) if crest.size)


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
