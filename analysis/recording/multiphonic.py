"""Multiple fundamental frequencies (multiphonics) by iterative harmonic matching.

The spectrum that lasts (the lower quartile over the loud frames of the longest run without a
change, `spectral_change`: notes after one another sound together only in a room's ringing) is
reduced to its lines. A series of partials is good when it explains much of them and has few gaps:
the odd ones alone will do, as on a clarinet. What the best series leaves over is searched for the
next, as long as it is loud enough. Lines at sums and differences of multiples of two notes found so
far are theirs, and make no third note: that a multiphonic's lines lie there is common knowledge of
acoustics (Backus, "Multiphonic tones in the woodwind instruments", JASA 63(2), 1978; from memory).

Lines at multiples of the mains that go on where the notes don't sound are hum, and left out. Three
lines and more that are 9 dB under the rest at most count as a note: they pull the other's pitch,
which had better not be told.

Two notes in a simple whole-number ratio are one series, and so no multiphonic, here as for the ear.

Limits: the fundamental of each note must be heard, within 35 dB of the strongest line, since odd
partials of one note look like several without it; lines up to 4 kHz; components to some 5 cents; a
second note must last through three quarters of the sound, within 22 dB of the first (15 dB if it
shows a single line). Of three and more notes some may be missed, as so many lines lie at sums and
differences. Two instruments at once look the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import MAX_F0_HZ, MIN_F0_HZ, CoarseFrames
from analysis.recording.measurement import Component
from analysis.recording.order_statistics import pick_quantile
from analysis.recording.spectral_lines import drop_hum, estimate_floor, find_lines, is_near_mains

Floats = NDArray[np.floating[Any]]

TOP_HZ = 4_000.0
LASTING_QUANTILE = 0.25
LOUD_SHARE = 0.03
MIN_FRAMES = 3
STRONG_LINES = 6
MAX_DIVISOR = 8
MAX_COMPONENTS = 4
ENOUGH_EXPLAINED = 0.9
TOLERANCE_BINS = 0.6
TOLERANCE_SHARE = 0.008
SKIRT_SHARE = 0.04  # 70 cents: vibrato and drift give a line neighbours this far off
SKIRT_BINS = 3.0
MIN_LEVEL_DB = -22.0
MIN_LEVEL_OF_ONE_LINE_DB = -15.0
SAME_CENTS = 20.0
SIMPLE_RATIOS = np.array(sorted({a / b for b in (1, 2) for a in range(b, 9)}))
NEIGHBOUR_CENTS = 120.0  # closer than this they are one line, smeared by vibrato
HUM_STAYS = 0.25  # of its power, where the notes do not sound
STRONG_HUM = 10**-0.9  # more of it in several lines, and the note's own pitch is pulled
STRONG_HUM_LINES = 3
COMBINATION_ORDERS = np.arange(-5, 6)


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines of a spectrum: where, how strong, and how exactly they are known."""

    freq_hz: Floats
    power: Floats
    bin_hz: float

    @property
    def weight(self) -> Floats:
        """What a line counts: weak ones nearly as much as strong ones."""
        return np.asarray(self.power**0.25)

    @property
    def tolerance_hz(self) -> Floats:
        return TOLERANCE_BINS * self.bin_hz + TOLERANCE_SHARE * self.freq_hz

    def without(self, taken: NDArray[np.bool_]) -> _Lines:
        return _Lines(self.freq_hz[~taken], self.power[~taken], self.bin_hz)


@dataclass(frozen=True, slots=True)
class _Series:
    """A fundamental, which lines it explains, and how well (0 to 1)."""

    f0_hz: float
    taken: NDArray[np.bool_]
    score: float
    power: float
    has_fundamental: bool


def find_components(frames: CoarseFrames, rows: slice) -> tuple[Component, ...]:
    """The notes that sound at once, loudest first; empty when it is one note, or none.

    `frames` is what `make_coarse_frames` gives; `rows` are those of the longest run in which the
    same sounds (`spectral_change`), at least three of them loud.
    """
    lines = _find_lasting_lines(frames, rows)
    if lines is None or not lines.freq_hz.size:
        return ()
    first = _find_series(lines)
    if first is None or not first.has_fundamental or _is_explained(first, lines):
        return ()
    found = [first]
    left = lines.without(first.taken)
    while left.freq_hz.size and len(found) < MAX_COMPONENTS:
        series = _find_series(left)
        if series is None or not series.taken.any():
            break
        left = left.without(series.taken)
        if _is_loud(series, first) and not any(_is_related(series, one) for one in found):
            found.append(series)
            left = left.without(_are_combinations(left, found))
    if len(found) < 2:
        return ()
    found.sort(key=lambda series: -series.power)
    return tuple(
        Component(round(s.f0_hz, 2), round(10 * float(np.log10(s.power / found[0].power)), 1))
        for s in found
    )


def _find_lasting_lines(frames: CoarseFrames, rows: slice) -> _Lines | None:
    total = frames.power.sum(axis=1)
    if len(total[rows]) < MIN_FRAMES:
        return None
    loud = rows.start + np.flatnonzero(total[rows] > LOUD_SHARE * np.quantile(total[rows], 0.9))
    if len(loud) < MIN_FRAMES:
        return None
    kept = int(TOP_HZ / frames.bin_hz) + 1
    lasting = pick_quantile(frames.power[loud, :kept], LASTING_QUANTILE)[np.newaxis]
    found = drop_hum(find_lines(lasting, estimate_floor(lasting, frames.bin_hz), frames.bin_hz))
    freq_hz, power = found.freq_hz[found.exist], found.power[found.exist]
    is_own = _stand_alone(freq_hz, power, frames.bin_hz)
    is_own &= ~_is_hum(freq_hz, power, frames.power[np.argmin(total)], frames.bin_hz)
    return _Lines(freq_hz[is_own], power[is_own], frames.bin_hz)


def _is_hum(freq_hz: Floats, power: Floats, quietest: Floats, bin_hz: float) -> NDArray[np.bool_]:
    """Which lines lie at multiples of the mains and stand in the quietest frame as well."""
    middle = np.round(freq_hz / bin_hz).astype(np.intp)
    stands = quietest[middle[:, None] + np.arange(-1, 2)].max(axis=1) >= HUM_STAYS * power
    is_hum = is_near_mains(freq_hz) & stands
    is_strong = power[is_hum].sum() > STRONG_HUM * power[~is_hum].sum()
    if is_strong and np.count_nonzero(is_hum) >= STRONG_HUM_LINES:
        return np.zeros(len(freq_hz), dtype=bool)
    return np.asarray(is_hum)


def _stand_alone(freq_hz: Floats, power: Floats, bin_hz: float) -> NDArray[np.bool_]:
    """Which lines have no stronger one close by."""
    reach_hz = np.maximum(SKIRT_SHARE * freq_hz, SKIRT_BINS * bin_hz)
    is_near = np.abs(freq_hz[:, None] - freq_hz) < reach_hz[:, None]
    return ~np.asarray((is_near & (power > power[:, None])).any(axis=1))


def _find_series(lines: _Lines) -> _Series | None:
    """The series that explains most with the fewest gaps."""
    strongest_hz = lines.freq_hz[np.argsort(lines.power)[::-1][:STRONG_LINES]]
    candidates_hz = (strongest_hz[:, None] / np.arange(1, MAX_DIVISOR + 1)).ravel()
    within = (candidates_hz >= MIN_F0_HZ) & (candidates_hz <= MAX_F0_HZ)
    series = [_fit_series(float(hz), lines) for hz in candidates_hz[within]]
    return max(series, key=lambda each: each.score, default=None)


def _fit_series(f0_hz: float, lines: _Lines) -> _Series:
    taken = np.zeros(len(lines.freq_hz), dtype=bool)
    number = np.ones(len(lines.freq_hz))
    for _ in range(3):
        number = np.maximum(np.round(lines.freq_hz / f0_hz), 1)
        reach = np.minimum(lines.tolerance_hz, 0.15 * f0_hz)
        taken = np.abs(lines.freq_hz - number * f0_hz) < reach
        if not taken.any():
            return _Series(f0_hz, taken, 0.0, 0.0, False)
        weight = lines.weight[taken] * number[taken]
        f0_hz = float(weight @ lines.freq_hz[taken] / (weight @ number[taken]))
    share = float(lines.weight[taken].sum() / lines.weight.sum())
    power = float(lines.power[taken].sum())
    score = share * _find_filling(number[taken]) ** 2
    return _Series(f0_hz, taken, score, power, bool((number[taken] == 1).any()))


def _find_filling(numbers: Floats) -> float:
    """The share of partials up to the highest that are there, of all or of the odd ones.

    >>> import numpy as np
    >>> _find_filling(np.array([1.0, 3.0, 5.0])), _find_filling(np.array([3.0, 6.0, 8.0]))
    (1.0, 0.375)
    """
    present = np.unique(numbers).astype(int)
    top = int(present[-1])
    of_all = len(present) / top
    of_odd = np.count_nonzero(present % 2) / ((top + 1) // 2)
    return float(max(of_all, of_odd if present[0] == 1 or of_all < of_odd else 0.0))


def _is_explained(series: _Series, lines: _Lines) -> bool:
    share = lines.weight[series.taken].sum() / lines.weight.sum()
    return bool(share >= ENOUGH_EXPLAINED)


def _is_loud(series: _Series, first: _Series) -> bool:
    """Whether a series is strong enough for a note, and its fundamental is heard at all."""
    least_db = MIN_LEVEL_DB if np.count_nonzero(series.taken) > 1 else MIN_LEVEL_OF_ONE_LINE_DB
    return series.has_fundamental and series.power > 10 ** (least_db / 10) * first.power


def _is_related(series: _Series, other: _Series) -> bool:
    """Whether two series lie so that they may be parts of one note."""
    ratio = max(series.f0_hz, other.f0_hz) / min(series.f0_hz, other.f0_hz)
    off_cents = 1200 * np.abs(np.log2(ratio / SIMPLE_RATIOS)).min()
    return bool(off_cents < SAME_CENTS or 1200 * np.log2(ratio) < NEIGHBOUR_CENTS)


def _are_combinations(lines: _Lines, found: list[_Series]) -> NDArray[np.bool_]:
    """Which lines lie at sums or differences of multiples of the first two notes found."""
    one, two = found[0].f0_hz, found[1].f0_hz
    places_hz = np.abs(COMBINATION_ORDERS[:, None] * one + COMBINATION_ORDERS * two).ravel()
    off_hz = np.abs(lines.freq_hz[:, None] - places_hz).min(axis=1)
    return np.asarray(off_hz < lines.tolerance_hz)
