"""Harmonicity tests: do the lines of the spectrum belong to the pitch that was measured?

Over the steady part a held note shows lines at whole multiples of its pitch, without gaps among the
first ten, or at the odd ones. A pitch is doubtful when that is not so, and when its first partial
lies so far under the strongest as in no real note that was looked at. Of made sounds of every kind
that carry their right pitch, all lines within 15 dB of the strongest lie at multiples, as far as
the pitch holds still; of wrong ones, a third to four fifths of their weight does. Fluttering puts
sidebands about each line, which are left out.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from analysis.recording.coarse_pitch import CoarseFrames, Floats, find_clarity
from analysis.recording.measurement import TakeMeasurement
from analysis.recording.spectral_lines import (
    drop_hum,
    estimate_floor,
    find_lines,
    is_near_mains,
)

HEARD_DB = -40.0
SURE_DB = -24.5  # of 1,253 real single notes none had its first partial under it
WEAK_DB = -20.0
LOW_HZ = 150.0
FIRST_PARTIALS = 10
LEAST_FILLING = 0.7
STRONGEST = 3
TWO_SERIES_SHARE = 0.97
LEAST_HARMONIC = 0.8
LINES = 8
LINE_UNDER_DB = -30.0
STRONG_LINE_DB = -15.0
EXACT_CENTS = 8.0
EXACT_BINS = 0.35
LEAST_EXACT = 0.85
LEAST_STRONG_EXACT = 0.9
STRONG_GIVE_CENTS = 25.0
SIDEBANDS = 2.2  # times the rate of a flutter: as far as its sidebands are looked for


def lacks_fundamental(measured: TakeMeasurement, heard_db: float = HEARD_DB) -> bool:
    """Whether a usable take has no first partial, or one under a level against its strongest."""
    if not measured.is_usable:
        return False
    partials = measured.spectrum.partials
    return not any(each.number == 1 and each.level_db >= heard_db for each in partials)


def is_doubtful(measured: TakeMeasurement, frames: CoarseFrames) -> bool:
    """Whether the partials of a usable take speak against its pitch."""
    if not measured.is_usable:
        return False
    return (
        lacks_fundamental(measured, SURE_DB)
        or is_of_several(measured, frames)
        or (len(_find_heard(measured)) > 1 and not is_filled(measured))
    )


def is_of_several(measured: TakeMeasurement, frames: CoarseFrames) -> bool:
    """Whether the lines of a usable take lie anywhere, or in two series with a common part."""
    return _are_two_series(measured) or not _are_strong_lines_multiples(measured, frames)


def _are_two_series(measured: TakeMeasurement) -> bool:
    """Whether nearly all power lies in multiples of two strong partials: two notes, as 5 to 7, say.

    Only a low note has enough partials to tell, and there a weak first one.
    """
    assert measured.f0_hz is not None
    if measured.f0_hz >= LOW_HZ or not lacks_fundamental(measured, WEAK_DB):
        return False
    partials = sorted(measured.spectrum.partials, key=lambda each: -each.level_db)
    powers = np.array([10 ** (each.level_db / 10) for each in partials])
    numbers = np.array([each.number for each in partials], dtype=np.intp)
    is_strong = powers[:STRONGEST] >= 10 ** (STRONG_LINE_DB / 10) * powers.max(initial=0.0)
    for one, other in combinations(sorted(numbers[:STRONGEST][is_strong].tolist()), 2):
        if one < 2 or other % one == 0:
            continue
        is_theirs = (numbers % one == 0) | (numbers % other == 0)
        if powers[is_theirs].sum() >= TWO_SERIES_SHARE * powers.sum():
            return True
    return False


def is_filled(measured: TakeMeasurement) -> bool:
    """Whether most of the first partials heard are there without gaps, or of the odd ones."""
    heard = _find_heard(measured)
    if len(heard) < 2:
        return False
    among = range(min(heard), max(heard) + 1)
    odd = [number for number in among if number % 2]
    of_odd = sum(number in heard for number in odd) / max(1, len(odd))
    of_all = len(heard) / len(among)
    return max(of_all, of_odd if len(odd) > 1 else 0.0) >= LEAST_FILLING


def _find_heard(measured: TakeMeasurement) -> set[int]:
    """The numbers of the partials among the first ten that are heard."""
    return {
        p.number
        for p in measured.spectrum.partials
        if p.level_db >= HEARD_DB and p.number <= FIRST_PARTIALS
    }


def is_harmonic(measured: TakeMeasurement, frames: CoarseFrames) -> bool:
    """Whether the partials of the pitch hold nearly all of the power over the steady part."""
    assert measured.f0_hz is not None
    power = _average_steady(measured, frames)
    share = find_clarity(np.array([measured.f0_hz]), power, frames.bin_hz)
    return bool(share[0] >= LEAST_HARMONIC)


def is_exact(measured: TakeMeasurement, frames: CoarseFrames, most_cents: float = np.inf) -> bool:
    """Whether the strongest lines lie at whole multiples, as far as the pitch holds still.

    `most_cents` is the most that they may lie off, however the pitch moves.
    """
    freq_hz, power = _find_steady_lines(measured, frames, LINE_UNDER_DB)
    give_cents = min(_find_give_cents(measured), most_cents)
    share = _find_multiple_share(
        freq_hz[:LINES], power[:LINES], measured, frames.bin_hz, give_cents=give_cents
    )
    return share >= LEAST_EXACT


def _are_strong_lines_multiples(measured: TakeMeasurement, frames: CoarseFrames) -> bool:
    """Whether the lines near the strongest lie at whole multiples, as far as the pitch holds still.

    Sidebands of a flutter are none, nor is mains hum under another line.
    """
    freq_hz, power = _find_steady_lines(measured, frames, STRONG_LINE_DB)
    reach_hz = SIDEBANDS * (measured.flutter_hz or 0.0)
    is_near = np.abs(freq_hz[:, None] - freq_hz) < reach_hz
    is_side = (is_near & (power > power[:, None])).any(axis=1)
    is_hum = is_near_mains(freq_hz) & (power < power.max(initial=0.0))
    is_own = ~(is_side | is_hum)
    give_cents = max(_find_give_cents(measured), STRONG_GIVE_CENTS)
    share = _find_multiple_share(
        freq_hz[is_own], power[is_own], measured, frames.bin_hz, give_cents=give_cents
    )
    return not freq_hz.size or share >= LEAST_STRONG_EXACT


def _find_steady_lines(
    measured: TakeMeasurement, frames: CoarseFrames, under_db: float
) -> tuple[Floats, Floats]:
    """Lines of the steady part within a level of the strongest, strongest first: Hz and power."""
    spectrum = _average_steady(measured, frames)
    lines = drop_hum(find_lines(spectrum, estimate_floor(spectrum, frames.bin_hz), frames.bin_hz))
    freq_hz, power = lines.freq_hz[0], lines.power[0]
    is_strong = power > 10 ** (under_db / 10) * power.max(initial=0.0)
    return freq_hz[is_strong], power[is_strong]


def _find_give_cents(measured: TakeMeasurement) -> float:
    """How far a line may lie off, as the pitch moves."""
    assert measured.spread_cents is not None
    extent = 0.0 if measured.vibrato is None else 1.2 * measured.vibrato.extent_cents
    return EXACT_CENTS + 2 * measured.spread_cents + extent


def _find_multiple_share(
    freq_hz: Floats, power: Floats, measured: TakeMeasurement, bin_hz: float, *, give_cents: float
) -> float:
    """The share, 0 to 1, of lines at multiples of the pitch, weak ones counted nearly as strong.

    `freq_hz` in Hz and `power`, both of shape (n,); 0 where there is no line.
    """
    if not freq_hz.size:
        return 0.0
    assert measured.f0_hz is not None
    weight = power**0.25
    number = np.maximum(np.rint(freq_hz / measured.f0_hz), 1)
    reach_hz = EXACT_BINS * bin_hz + freq_hz * (2 ** (give_cents / 1200) - 1)
    is_near = np.abs(freq_hz - number * measured.f0_hz) < reach_hz
    return float(weight[is_near].sum() / weight.sum())


def _average_steady(measured: TakeMeasurement, frames: CoarseFrames) -> Floats:
    """Mean power (1, bins) of the frames of the steady part, at least one."""
    assert measured.steady_from_s is not None and measured.steady_to_s is not None
    middle_s = 0.5 * (measured.steady_from_s + measured.steady_to_s)
    centres_s = frames.centres_s
    inside = (centres_s >= measured.steady_from_s) & (centres_s <= measured.steady_to_s)
    inside[np.argmin(np.abs(centres_s - middle_s))] = True
    return np.asarray(frames.power[inside].mean(axis=0, keepdims=True))
