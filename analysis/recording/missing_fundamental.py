"""Missing fundamentals: does a pitch whose first partial is not heard stand all the same?

Harmonic matching may find the common part of lines that belong to no one note: of a gong, of the
sidebands of a fluttered tone, of a note and a soft second one. Partial 1 then lies far under the
strongest, most often by 40 dB and more. So does that of a low note recorded by a small microphone;
but there most of the partials above are heard, and the wave repeats once a period, which the
autocorrelation of the contour (`pitch_contour`) sees, or, from 500 Hz on, where that has few
partials to go by, the lines lie at whole multiples to a few cents. Nor may, below 150 Hz, nearly
all power lie in the multiples of two partials, as of two notes. Where not, the contour's pitch is
tried instead: it must have its fundamental, and its partials must hold four fifths of the power.

Under 150 Hz a microphone may take the fundamental away altogether. There six partials and more
within 30 dB of the strongest, one of them under 450 Hz, are enough.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.recording.coarse_pitch import CoarseFrames
from analysis.recording.harmonicity import (
    HEARD_DB,
    is_exact,
    is_filled,
    is_of_several,
    lacks_fundamental,
)
from analysis.recording.held_notes import HeldNote
from analysis.recording.measurement import TakeMeasurement
from analysis.recording.pitch_contour import Contour

MICROPHONE_HZ = 150.0
FEW_PARTIALS_HZ = 500.0
LOWEST_PARTIAL_HZ = 450.0
STRONG_DB = -30.0
LEAST_STRONG = 6
MOST_GIVE_CENTS = 25.0
WEAK_GIVE_CENTS = 12.0
SAME_CENTS = 50.0
LEAST_CLEAR = 0.5
LOUD_SHARE = 0.1
AROUND_CENTS = 60.0
LEAST_ROWS = 12


def is_on_contour(measured: TakeMeasurement, contour: Contour) -> bool:
    """Whether the contour has the same pitch over the steady part."""
    assert measured.f0_hz is not None and measured.steady_from_s is not None
    assert measured.steady_to_s is not None
    times_s = contour.times_s
    inside = contour.f0_hz[(times_s >= measured.steady_from_s) & (times_s <= measured.steady_to_s)]
    known = inside[np.isfinite(inside)]
    if not known.size or known.size < LEAST_CLEAR * inside.size:
        return False
    return bool(abs(1200 * np.log2(np.median(known) / measured.f0_hz)) < SAME_CENTS)


def stands_alone(measured: TakeMeasurement, contour: Contour, frames: CoarseFrames) -> bool:
    """Whether a usable take's pitch stands without its fundamental, or with a weak one."""
    assert measured.f0_hz is not None
    if is_of_several(measured, frames):
        return False
    if not (is_filled(measured) or _may_be_cut_off(measured)):
        return False
    if not lacks_fundamental(measured) and is_exact(measured, frames, WEAK_GIVE_CENTS):
        return True
    if measured.f0_hz >= FEW_PARTIALS_HZ:
        return is_on_contour(measured, contour) or is_exact(measured, frames)
    return is_on_contour(measured, contour) and is_exact(measured, frames, MOST_GIVE_CENTS)


def have_fundamentals(f0s_hz: Sequence[float], frames: CoarseFrames) -> bool:
    """Whether each of some pitches has a first partial in the spectrum of all frames."""
    power = frames.power.mean(axis=0)
    least = 10 ** (HEARD_DB / 10) * float(power.max())
    bins = [round(f0_hz / frames.bin_hz) for f0_hz in f0s_hz]
    return all(float(power[max(0, at - 2) : at + 3].max()) >= least for at in bins)


def _may_be_cut_off(measured: TakeMeasurement) -> bool:
    """Whether a low note's fundamental may have been lost on the way, going by its partials."""
    assert measured.f0_hz is not None
    heard = [p for p in measured.spectrum.partials if p.level_db >= STRONG_DB]
    is_low = measured.f0_hz < MICROPHONE_HZ and any(p.freq_hz < LOWEST_PARTIAL_HZ for p in heard)
    return is_low and len(heard) >= LEAST_STRONG


def follow_contour(contour: Contour) -> HeldNote | None:
    """The note that the contour holds: loud rows within 60 cents of their median, gaps bridged."""
    if not contour.level.size:
        return None
    is_loud = contour.level > LOUD_SHARE * np.quantile(contour.level, 0.9)
    is_known = is_loud & np.isfinite(contour.f0_hz)
    if np.count_nonzero(is_known) < max(LEAST_ROWS, LEAST_CLEAR * np.count_nonzero(is_loud)):
        return None
    median_hz = np.median(contour.f0_hz[is_known])
    cents = np.full(len(contour.f0_hz), np.inf)
    cents[is_known] = 1200 * np.log2(contour.f0_hz[is_known] / median_hz)
    rows = np.flatnonzero(np.abs(cents) < AROUND_CENTS)
    if len(rows) < max(LEAST_ROWS, LEAST_CLEAR * np.count_nonzero(is_known)):
        return None
    smooth = np.median(
        np.lib.stride_tricks.sliding_window_view(np.pad(cents[rows], 3, mode="edge"), 7), axis=1
    )
    return HeldNote(
        contour.times_s[rows], median_hz * 2 ** (smooth / 1200), contour.level[rows] ** 2
    )
