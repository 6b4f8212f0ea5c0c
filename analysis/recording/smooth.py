"""One pitch curve, smoothed as much as its own noise asks for.

The joined phase (in cent-hops: its difference from hop to hop is the deviation in cents) is
observed with a noise that the signal-to-noise ratio predicts. The curve's pitch is taken as a
random walk whose step is found by maximum likelihood: for a still tone in noise the step goes
to zero and the whole clip becomes one straight-line fit of phase, which is near the Cramer-Rao
bound; a player's wander gives a light smoothing. The smoother is Whittaker's (penalised
second differences); its likelihood is the restricted one of the equivalent mixed model
(Patterson & Thompson, Biometrika 58, 1971). Uncertainties come from draws of the posterior by
perturbing both sides and solving again (simulation smoothing after Durbin & Koopman, Biometrika 89,
2002). Sources from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.joining import JoinedPitch

Floats = NDArray[np.floating[Any]]

UPSAMPLING = 8
SHARPENING_DOUBT = 0.15
# Draws of one model are too sure of the model. With this factor the truth lay within two
# standard deviations in 95% of the benchmark's clips (tests/benchmarks/RESULTS.md).
MODEL_FACTOR = 1.25
ROUNDING_CENTS = 3e-4
SMOOTHINGS = 10.0 ** np.arange(-3.0, 11.0, 0.5)
DRAWS = 64
DRAW_SEED = 20
DRAWN_AT_ONCE = 1_000_000  # numbers
NORMAL_ROWS = 4_096
LEAST_SHARE = 0.02
BATCH_POINTS = 60_000


@dataclass(frozen=True, slots=True)
class PitchCurve:
    """Smoothed deviation from `reference_hz`, and draws from its posterior (one a row)."""

    reference_hz: float
    cents: Floats
    draws: Floats
    sharpening_cents: float

    def find_median_hz(self) -> float:
        """The median pitch of the curve, cubically interpolated between the hops."""
        return float(self.reference_hz * 2 ** (_find_median(self.cents) / 1200))

    def find_uncertainty_cents(self) -> float:
        """One standard deviation of the median pitch.

        The scatter of the medians of the draws, a share of what undoing the window's averaging
        changed (its higher orders are not undone), and a floor for rounding.
        """
        # a few draws at a time, which is quick and keeps memory small for long clips
        batches = np.array_split(self.draws, -(-self.draws.size // BATCH_POINTS))
        medians = [np.median(upsample(batch), axis=-1) for batch in batches]
        scatter = MODEL_FACTOR * float(np.std(np.concatenate(medians)))
        model = SHARPENING_DOUBT * self.sharpening_cents
        return float(np.sqrt(scatter**2 + model**2 + ROUNDING_CENTS**2))


def smooth_pitch(joined: JoinedPitch) -> PitchCurve:
    """The expected pitch curve and draws from its posterior, over all likely smoothings."""
    phase = np.concatenate(([0.0], np.cumsum(joined.cents)))
    phase -= np.linspace(0.0, phase[-1], len(phase))
    mean_cents = float(np.mean(joined.cents))
    curve = np.zeros(len(joined.cents))
    smoothers = _weigh_smoothers(phase, joined.phase_variance)
    counts = [max(1, round(share * DRAWS)) for _, _, share in smoothers]
    draws = np.empty((sum(counts), len(curve)))
    first = 0
    for (smoother, variance, share), count in zip(smoothers, counts, strict=True):
        fitted, _ = smoother.fit(phase[:, None])
        curve += share * np.diff(fitted[:, 0])
        _draw_curves(smoother, phase, variance, draws[first : first + count])
        first += count
    curve += mean_cents
    draws += mean_cents
    sharp = _sharpen(curve, joined.blur_hops)
    changed = float(np.sqrt(np.mean((sharp - curve) ** 2)))
    return PitchCurve(joined.reference_hz, sharp, draws, changed)


def _draw_curves(smoother: _Smoother, phase: Floats, variance: float, draws: Floats) -> None:
    """Fill `draws`, so many at a time that memory follows the curve and not their number."""
    count = len(draws)
    group = max(1, DRAWN_AT_ONCE // len(phase))
    for first in range(0, count, group):
        wanted = slice(first, min(first + group, count))
        # the same numbers for a curve whatever its group
        rng = np.random.default_rng(DRAW_SEED)
        observed = phase[:, None] + np.sqrt(variance) * _pick_normal(rng, len(phase), count, wanted)
        steps = _pick_normal(rng, len(phase) - 2, count, wanted)
        steps *= np.sqrt(variance / smoother.smoothing)
        fitted, _ = smoother.fit(observed, steps)
        draws[wanted] = np.diff(fitted, axis=0).T


def _pick_normal(rng: np.random.Generator, rows: int, columns: int, wanted: slice) -> Floats:
    """Some columns of a table of normal numbers that is never in memory as a whole."""
    picked = np.empty((rows, wanted.stop - wanted.start))
    for at in range(0, rows, NORMAL_ROWS):
        some = min(NORMAL_ROWS, rows - at)
        picked[at : at + some] = rng.standard_normal((some, columns))[:, wanted]
    return picked


class _Smoother:
    """A free parabola of phase (a steady drift of pitch) plus a penalised rest.

    Written so that long clips don't lose digits: what the smoother leaves of a phase is never
    found as a difference of large numbers.
    """

    def __init__(self, count: int, smoothing: float) -> None:
        from scipy.linalg import cholesky_banded

        self.smoothing = smoothing
        self._factor = cholesky_banded(_bands(count, smoothing))
        self._drift = np.linspace(-1.0, 1.0, count) ** 2
        # (I - S) drift = S (smoothing D'D) drift, S the smoother
        bend = np.full((count - 2, 1), 8.0 / (count - 1) ** 2)
        self._left_drift = self._solve(smoothing * _bend_back(bend)[:, 0])
        self._drift_weight = max(float(self._drift @ self._left_drift), np.finfo(float).tiny)

    def _solve(self, right: Floats) -> Floats:
        from scipy.linalg import cho_solve_banded

        return np.asarray(cho_solve_banded((self._factor, False), right))

    def fit(self, phases: Floats, steps: Floats | None = None) -> tuple[Floats, Floats]:
        """The fitted phases (one a column) and the size of their drifts.

        `steps` are targets for the second differences (default 0).
        """
        right = phases if steps is None else phases + self.smoothing * _bend_back(steps)
        rest = self._solve(right)
        drift = self._drift @ (phases - rest) / self._drift_weight
        return rest + np.outer(self._left_drift, drift), drift

    def score(self, phase: Floats, least_variance: float) -> tuple[float, float]:
        """Minus twice the restricted log likelihood, and the noise variance it is best at."""
        fitted, drift = self.fit(phase[:, None])
        left = phase - fitted[:, 0]
        bend = np.diff(fitted[:, 0] - drift * self._drift, 2)
        misfit = float(left @ left + self.smoothing * (bend @ bend))
        freedom = len(phase) - 3
        variance = max(least_variance, misfit / freedom)
        unlikelihood = (
            freedom * np.log(variance)
            - (len(phase) - 2) * np.log(self.smoothing)
            + misfit / variance
            + 2 * np.log(self._factor[-1]).sum()
            + np.log(self._drift_weight)
        )
        return float(unlikelihood), variance


def _bend_back(steps: Floats) -> Floats:
    """D' steps, D the second differences, for columns."""
    return np.asarray(np.diff(np.pad(steps, ((2, 2), (0, 0))), 2, axis=0))


def _bands(count: int, smoothing: float) -> Floats:
    """Upper bands of I + smoothing D'D, D the second differences."""
    bands = np.zeros((3, count))
    bands[2], bands[1], bands[0] = 6.0, -4.0, 1.0
    bands[2, [0, -1]], bands[2, [1, -2]] = 1.0, 5.0
    bands[1, [1, -1]] = -2.0
    bands *= smoothing
    bands[2] += 1.0
    return bands


def _weigh_smoothers(phase: Floats, least_variance: float) -> list[tuple[_Smoother, float, float]]:
    """Smoothers on a grid with their noise variance and posterior share, the unlikely left out.

    All smoothings are equally likely beforehand (on a log scale).
    """
    count = len(phase)
    scores = [
        _Smoother(count, float(smoothing)).score(phase, least_variance) for smoothing in SMOOTHINGS
    ]
    best = min(score for score, _ in scores)
    shares = np.exp([-0.5 * (score - best) for score, _ in scores])
    shares[shares < LEAST_SHARE] = 0.0
    shares /= shares.sum()
    return [
        (_Smoother(count, float(smoothing)), variance, float(share))
        for smoothing, (_, variance), share in zip(SMOOTHINGS, scores, shares, strict=True)
        if share > 0
    ]


def _sharpen(cents: Floats, blur_hops: float) -> Floats:
    """Undo the window's averaging to second order: f - (blur^2 / 2) f''."""
    bend = np.diff(np.pad(cents, 1, mode="reflect", reflect_type="odd"), 2)
    return cents - 0.5 * blur_hops**2 * bend


def _find_median(cents: Floats) -> float:
    """Median of the curve through the hops (a cubic through four neighbours)."""
    return float(np.median(upsample(cents)))


def upsample(cents: Floats) -> Floats:
    """Eight points a hop, from the first hop to the last, by Lagrange's cubic; one curve a row."""
    if cents.shape[-1] < 4:
        return cents
    x = np.arange(UPSAMPLING) / UPSAMPLING
    weights = np.stack(
        (
            -x * (x - 1) * (x - 2) / 6,
            (x + 1) * (x - 1) * (x - 2) / 2,
            -(x + 1) * x * (x - 2) / 2,
            (x + 1) * x * (x - 1) / 6,
        )
    )
    ends = [(0, 0)] * (cents.ndim - 1) + [(1, 1)]
    padded = np.pad(cents, ends, mode="reflect", reflect_type="odd")
    fine = np.lib.stride_tricks.sliding_window_view(padded, 4, axis=-1) @ weights
    return np.concatenate((fine.reshape(*cents.shape[:-1], -1), cents[..., -1:]), axis=-1)
