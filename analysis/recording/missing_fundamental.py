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

from analysis.recording.coarse_pitch import CoarseFrames, Floats, find_clarity
from analysis.recording.held_notes import HeldNote
from analysis.recording.measurement import TakeMeasurement
from analysis.recording.pitch_contour import Contour
from analysis.recording.spectral_lines import drop_hum, estimate_floor, find_lines

HEARD_DB = -40.0
SURE_DB = -27.0  # of 1,253 real single notes none had its first partial under -24.5 dB
MICROPHONE_HZ = 150.0
FEW_PARTIALS_HZ = 500.0
LOWEST_PARTIAL_HZ = 450.0
STRONG_DB = -30.0
LEAST_STRONG = 6
FIRST_PARTIALS = 10
LEAST_FILLING = 0.7
LINES = 8
LINE_UNDER_DB = -30.0
EXACT_CENTS = 8.0
EXACT_BINS = 0.35
MOST_GIVE_CENTS = 25.0
LEAST_EXACT = 0.85
SAME_CENTS = 50.0
LEAST_CLEAR = 0.5
LEAST_HARMONIC = 0.8
TWO_SERIES_SHARE = 0.97
LOUD_SHARE = 0.1
AROUND_CENTS = 60.0
LEAST_ROWS = 12


def lacks_fundamental(measured: TakeMeasurement, heard_db: float = HEARD_DB) -> bool:
    """Whether a usable take has no first partial, or one under a level against its strongest."""
    if not measured.is_usable:
        return False
    partials = measured.spectrum.partials
    return not any(each.number == 1 and each.level_db >= heard_db for each in partials)


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
    """Whether a usable take's pitch stands without its fundamental."""
    assert measured.f0_hz is not None
    if _are_two_series(measured) or not (_is_filled(measured) or _may_be_cut_off(measured)):
        return False
    if measured.f0_hz >= FEW_PARTIALS_HZ:
        return is_on_contour(measured, contour) or _is_exact(measured, frames)
    return is_on_contour(measured, contour) and _is_exact(measured, frames, MOST_GIVE_CENTS)


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


def _are_two_series(measured: TakeMeasurement) -> bool:
    """Whether nearly all power lies in multiples of two partials: two notes, as 5 to 7, say.

    Only a low note has enough partials to tell.
    """
    partials = sorted(measured.spectrum.partials, key=lambda each: -each.level_db)
    if len(partials) < 2 or measured.f0_hz is None or measured.f0_hz >= MICROPHONE_HZ:
        return False
    one, other = (each.number for each in partials[:2])
    if min(one, other) < 2 or max(one, other) % min(one, other) == 0:
        return False
    powers = np.array([10 ** (each.level_db / 10) for each in partials])
    is_theirs = [each.number % one == 0 or each.number % other == 0 for each in partials]
    return bool(powers[is_theirs].sum() >= TWO_SERIES_SHARE * powers.sum())


def _is_filled(measured: TakeMeasurement) -> bool:
    """Whether most of the first partials heard are there without gaps, or of the odd ones."""
    heard = {
        p.number
        for p in measured.spectrum.partials
        if p.level_db >= HEARD_DB and p.number <= FIRST_PARTIALS
    }
    if not heard:
        return False
    among = range(min(heard), max(heard) + 1)
    odd = [number for number in among if number % 2]
    of_odd = sum(number in heard for number in odd) / max(1, len(odd))
    of_all = len(heard) / len(among)
    return len(heard) >= 2 and max(of_all, of_odd if len(odd) > 1 else 0.0) >= LEAST_FILLING


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


def is_harmonic(measured: TakeMeasurement, frames: CoarseFrames) -> bool:
    """Whether the partials of the pitch hold nearly all of the power over the steady part."""
    assert measured.f0_hz is not None
    power = _average_steady(measured, frames)
    share = find_clarity(np.array([measured.f0_hz]), power, frames.bin_hz)
    return bool(share[0] >= LEAST_HARMONIC)


def _is_exact(measured: TakeMeasurement, frames: CoarseFrames, most_cents: float = np.inf) -> bool:
    """Whether the strongest lines lie at whole multiples, as far as the pitch holds still."""
    assert measured.f0_hz is not None and measured.spread_cents is not None
    power = _average_steady(measured, frames)
    lines = drop_hum(find_lines(power, estimate_floor(power, frames.bin_hz), frames.bin_hz))
    is_strong = lines.power[0] > 10 ** (LINE_UNDER_DB / 10) * lines.power.max()
    freq_hz, weight = (
        each[is_strong][:LINES] for each in (lines.freq_hz[0], lines.power[0] ** 0.25)
    )
    if not freq_hz.size:
        return False
    extent = 0.0 if measured.vibrato is None else 1.2 * measured.vibrato.extent_cents
    give_cents = min(EXACT_CENTS + 2 * measured.spread_cents + extent, most_cents)
    number = np.maximum(np.rint(freq_hz / measured.f0_hz), 1)
    reach_hz = EXACT_BINS * frames.bin_hz + freq_hz * (2 ** (give_cents / 1200) - 1)
    is_near = np.abs(freq_hz - number * measured.f0_hz) < reach_hz
    return bool(weight[is_near].sum() >= LEAST_EXACT * weight.sum())


def _average_steady(measured: TakeMeasurement, frames: CoarseFrames) -> Floats:
    """Mean power (1, bins) of the frames of the steady part, at least one."""
    assert measured.steady_from_s is not None and measured.steady_to_s is not None
    middle_s = 0.5 * (measured.steady_from_s + measured.steady_to_s)
    centres_s = frames.centres_s
    inside = (centres_s >= measured.steady_from_s) & (centres_s <= measured.steady_to_s)
    inside[np.argmin(np.abs(centres_s - middle_s))] = True
    return np.asarray(frames.power[inside].mean(axis=0, keepdims=True))
