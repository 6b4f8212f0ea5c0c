"""Rise time of the onset (time to speak): from 10% to 90% of a tone's full level.

The reference levels are those that are usual for pulses (IEC 60469, from memory). The level is the
RMS of whole periods (at least 5 ms), its full value the median over the steady part, of which at
most 2 s count. The time runs from the last moment under a tenth of the full level (-20 dB) before
the steady part to the first moment at nine tenths of it (-1 dB). Levels
are relative, so the recording level does not matter. The log attack time of MPEG-7 (ISO/IEC
15938-4, from memory) is the decimal logarithm of such a time, measured from where the sound starts
to where it is at its height: of a straight rise, a quarter longer than ours.

Limits: seconds, resolved to some 4 ms (bass: 16 ms), the blur of one window. The onset must be on
the recording with 20 ms of quiet (under 7% of the full level) before it: a clip that starts within
the note, or a noise less than 23 dB under the tone, cannot tell. Nor can a rise that takes more
than a third of the part that its full level is taken from. It is about the level only: the pitch
may settle later. A room's reverberation lengthens it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples

Floats = NDArray[np.floating[Any]]

FROM_SHARE, TO_SHARE = 0.1, 0.9
QUIET_SHARE = 0.07
QUIET_S = 0.02
MIN_WINDOW_S = 0.005
HOP_S = 0.001
LOOK_BACK_S = 1.0
FULL_S = 2.0
MAX_SHARE = 1 / 3


def find_time_to_speak_s(
    samples: Samples,
    sample_rate_hz: float,
    *,
    f0_hz: float,
    steady_from_s: float,
    steady_to_s: float,
) -> float | None:
    """How long the tone takes from a tenth to nine tenths of its full level, in seconds.

    Parameters: `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`; the steady part in
    seconds from the start of the samples.
    Returns None where the recording cannot tell. Source and limits: see the module.

    >>> import numpy as np
    >>> time_s = np.arange(48_000) / 48_000
    >>> ramp = np.clip((time_s - 0.2) / 0.1, 0, 1)  # full after 0.1 s: 80% of it is 0.08 s
    >>> tone = 0.1 * ramp * np.sin(2 * np.pi * 440.0 * time_s)
    >>> speaks_s = find_time_to_speak_s(
    ...     tone, 48_000, f0_hz=440.0, steady_from_s=0.35, steady_to_s=0.9
    ... )
    >>> round(speaks_s, 3)
    0.08
    """
    from_s = max(0.0, steady_from_s - LOOK_BACK_S)
    full_to_s = min(steady_to_s, steady_from_s + FULL_S)
    first, last = (round(at * sample_rate_hz) for at in (from_s, full_to_s))
    times_s, level = _trace_level(samples[first:last], sample_rate_hz, f0_hz)
    times_s = times_s + first / sample_rate_hz
    is_full = times_s >= steady_from_s
    if not is_full.any():
        return None
    full = float(np.median(level[is_full]))
    onset = _find_onset(level / full, int(np.argmax(is_full))) if full > 0 else None
    if onset is None:
        return None
    reached = onset + 1 + np.flatnonzero(level[onset + 1 :] >= TO_SHARE * full)
    if not reached.size:
        return None
    speaks_s = _cross(times_s, level, int(reached[0]), TO_SHARE * full) - _cross(
        times_s, level, onset + 1, FROM_SHARE * full
    )
    return speaks_s if speaks_s <= MAX_SHARE * (full_to_s - steady_from_s) else None


def _trace_level(samples: Samples, sample_rate_hz: float, f0_hz: float) -> tuple[Floats, Floats]:
    """Middles of the windows, a millisecond apart, and the RMS in them, their mean taken off."""
    period = sample_rate_hz / f0_hz
    size = round(np.ceil(MIN_WINDOW_S * f0_hz) * period)
    starts = np.arange(0, max(0, len(samples) - size), max(1, round(HOP_S * sample_rate_hz)))
    wide = samples.astype(np.float64)
    sums, squares = (np.concatenate(([0.0], np.cumsum(each))) for each in (wide, wide**2))
    mean, power = ((total[starts + size] - total[starts]) / size for total in (sums, squares))
    level = np.sqrt(np.maximum(power - mean**2, 0.0))
    return (starts + size / 2) / sample_rate_hz, level


def _find_onset(share: Floats, steady: int) -> int | None:
    """The last step under a tenth before the steady part, with enough quiet before it."""
    quiet = np.flatnonzero(share[:steady] < FROM_SHARE)
    hops = round(QUIET_S / HOP_S)
    if not quiet.size or quiet[-1] < hops:
        return None
    before = share[max(0, int(quiet[-1]) - 5 * hops) : quiet[-1]]
    return int(quiet[-1]) if np.median(before) < QUIET_SHARE else None


def _cross(times_s: Floats, level: Floats, after: int, wanted: float) -> float:
    """When the level passes a value between the step before `after` and `after`."""
    pair = slice(after - 1, after + 1)
    return float(np.interp(wanted, level[pair], times_s[pair]))
