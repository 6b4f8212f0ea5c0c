"""Drift and vibrato by least squares: a line and one sinusoid, fitted together.

The sinusoid has 3 to 9 Hz; both are fitted jointly: a line alone is bent by an
incomplete cycle at the ends. The rate starts at the highest peak of the periodogram and is refined
by halving steps about it. Under 2 cents, or when it explains less than half of what the line
leaves, the wave is wander and not vibrato. Limits: vibrato needs two full cycles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.measurement import Vibrato

Floats = NDArray[np.floating[Any]]

RATES_HZ = (3.0, 9.0)
MIN_EXTENT_CENTS = 2.0
MIN_SHARE = 0.5
REFINING_STEPS = 7


@dataclass(frozen=True, slots=True)
class PitchMotion:
    """How the pitch moves: drift, vibrato if any, and the curve without the vibrato."""

    drift_cents_per_s: float
    vibrato: Vibrato | None
    slow_cents: Floats


def find_motion(times_s: Floats, cents: Floats) -> PitchMotion:
    """Find the drift in cents per second and the vibrato of a pitch curve.

    `times_s` and `cents`, both of shape (m,), in about equal steps of time.
    """
    middle_s = times_s - times_s.mean()
    plain, left = _fit(middle_s, cents, None)
    without = PitchMotion(float(plain[1]), None, cents)
    rate_hz = _find_rate(middle_s, cents)
    if rate_hz is None:
        return without
    joint, rest = _fit(middle_s, cents, rate_hz)
    extent = float(np.hypot(joint[2], joint[3]))
    if extent < MIN_EXTENT_CENTS or rest @ rest > (1 - MIN_SHARE) * (left @ left):
        return without
    wave = _columns(middle_s, rate_hz)[:, 2:] @ joint[2:]
    return PitchMotion(float(joint[1]), Vibrato(rate_hz, extent), cents - wave)


def _columns(time_s: Floats, rate_hz: float | None) -> Floats:
    columns = [np.ones_like(time_s), time_s]
    if rate_hz is not None:
        turns = 2 * np.pi * rate_hz * time_s
        columns += [np.cos(turns), np.sin(turns)]
    return np.stack(columns, axis=1)


def _fit(time_s: Floats, cents: Floats, rate_hz: float | None) -> tuple[Floats, Floats]:
    """Least-squares coefficients and what they leave."""
    columns = _columns(time_s, rate_hz)
    coefficients = np.linalg.solve(columns.T @ columns, columns.T @ cents)
    return coefficients, cents - columns @ coefficients


def _find_rate(time_s: Floats, cents: Floats) -> float | None:
    """The rate that leaves least, or None when two cycles don't fit into the span."""
    span_s = float(time_s[-1] - time_s[0])
    lowest = max(RATES_HZ[0], 2.0 / span_s) if span_s > 0 else np.inf
    if lowest >= RATES_HZ[1]:
        return None
    _, left = _fit(time_s, cents, None)
    size = 4 * len(left)
    power = np.abs(np.fft.rfft(left, size)) ** 2
    rates = np.fft.rfftfreq(size, span_s / (len(time_s) - 1))
    within = np.flatnonzero((rates >= lowest) & (rates <= RATES_HZ[1]))
    if not within.size:
        return None
    rate = float(rates[within[np.argmax(power[within])]])
    step = 0.5 / span_s
    for _ in range(REFINING_STEPS):
        near = np.clip((rate - step, rate, rate + step), lowest, RATES_HZ[1])
        misfits = [float(np.sum(_fit(time_s, cents, float(r))[1] ** 2)) for r in near]
        rate = float(near[int(np.argmin(misfits))])
        step *= 0.5
    return rate
