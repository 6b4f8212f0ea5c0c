"""Weighted least squares over the partials' phases, with their disagreement as a random effect.

Order-tracked (`order_tracking`), a partial's phase hardly moves, so the part of its phasor that
stands across its mean is its phase in radians, however weak the partial is: no phase unwrapping is
needed. Divided by its number k it is what that partial says of the fundamental's phase, with
variance 1 / (2 S k^2) for a signal-to-noise power ratio S (of the window): the partials are weighed
by the inverse of it.

Two things make partials worse than their noise says. Some are disturbed all the time (a hum beside
them, a neighbour that leaks): seen by how they jump against what all say, from window to window.
And all may go slowly astray, each its own way: a room answers every partial differently, and while
the pitch moves or the room fills these answers turn. That is seen in how far the partials disagree
about the pitch that is asked for: a variance between partials, by the method of moments, as in a
random-effects model (see `pooling`), which counts equally for all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.order_statistics import pick_quantile
from analysis.recording.order_tracking import Complexes
from analysis.recording.whittaker import NEIGHBOURS

Floats = NDArray[np.floating[Any]]

OVERLAP = 1 + 2 * NEIGHBOURS  # how much slower the windows' noise averages out than single ones
PASSES = 4
FURTHEST = 4.0  # standard deviations beyond which a phase counts no further
SLACK_RADIANS = 0.5
ONE_VOICE = 0.8  # a partial with a larger share can't be judged by the others
# The spread of a variance read from the jumps of m windows, doubled, is about 3.2 / sqrt(m).
DOUBT = 3.2
# second differences of noise whose neighbours correlate, for unit variance
JUMPS = 6 - 8 * NEIGHBOURS
NORMAL_MAD = 1.4826
WIDEST = 2.5
LEAST_SAY = 0.002
DOUBTFUL = 2.0  # standard deviations of chi-squared


@dataclass(frozen=True, slots=True)
class JointPhase:
    """The phase of the fundamental beyond the pitch profile, in radians, one value a window (m,).

    `variance` is that of its noise as waves much longer than a window see it. `residuals` (m, k)
    are what partials say beyond it (in radians of the fundamental), `variances` those of their
    noise, `shares` their weights, which sum to 1.
    """

    radians: Floats
    variance: float
    residuals: Floats
    variances: Floats
    shares: Floats


def combine_phases(phasors: Complexes, snr: Floats, disagreement: float = 0.0) -> JointPhase:
    """Combine the phases of partials 1 to k by weighted least squares.

    `phasors` of shape (m, k); `snr` (k,) are the power ratios of partial to noise in one window,
    `disagreement` a variance in radians^2 of the fundamental that each partial has besides its
    noise.

    >>> import numpy as np
    >>> steps = np.array([0.01, -0.01, 0.02, 0.0, 0.0, -0.02, 0.0, 0.0])
    >>> partials = np.exp(1j * np.outer(steps, [1, 2, 3]))
    >>> np.round(combine_phases(partials, np.array([1e4, 1e3, 1e4])).radians, 3).tolist()
    [0.01, -0.01, 0.02, 0.0, 0.0, -0.02, 0.0, 0.0]
    """
    numbers = np.arange(1, phasors.shape[1] + 1)
    count = len(phasors)
    # the mean phasor itself is noisy for a partial that is hardly there
    theory = OVERLAP / (2 * snr) * (1 + 1 / (count * snr))
    said = _find_phases(phasors, FURTHEST * np.sqrt(theory) + SLACK_RADIANS) / numbers
    theory = theory / numbers**2
    variances = theory
    for _ in range(PASSES):
        shares = 1 / (variances + disagreement)
        shares /= shares.sum()
        radians = said @ shares
        residuals = said - radians[:, np.newaxis]
        seen = _find_noise_variance(residuals) / np.maximum(1 - shares, 1 - ONE_VOICE)
        is_worse = (seen > (1 + DOUBT / np.sqrt(count)) * theory) & (shares < ONE_VOICE)
        variances = np.where(is_worse, seen, theory)
    return JointPhase(
        radians=radians,
        variance=float(shares**2 @ variances),
        residuals=residuals,
        variances=variances,
        shares=shares,
    )


def _find_phases(phasors: Complexes, furthest: Floats) -> Floats:
    """Phase of each phasor against its partial's mean, for small phases; their mean is 0."""
    mean = phasors.mean(axis=0)
    power = np.maximum(np.abs(mean) ** 2, np.finfo(np.float64).tiny)
    phases = (phasors * np.conj(mean)).imag / power
    return np.asarray(np.clip(phases - phases.mean(axis=0), -furthest, furthest))


def _find_noise_variance(phases: Floats) -> Floats:
    """Variance of the noise in each column, from its second differences, as long waves see it."""
    jumps = np.abs(np.diff(phases, 2, axis=0))
    return np.asarray((NORMAL_MAD * pick_quantile(jumps)) ** 2 / JUMPS * OVERLAP)


def find_disagreement(joint: JointPhase, influence: Floats) -> float:
    """Variance (radians^2) that single partials have beside their noise in what is asked for.

    `influence`, shape (m,), says how what is asked for follows from the phases. Method of moments
    on the residuals of all partials that have a say, each weighed by its own variance; 0 where
    noise may explain all.
    """
    has_say = joint.shares > LEAST_SAY
    told = influence @ joint.residuals[:, has_say]
    by_noise = joint.variances[has_say] * float(influence @ influence)
    freedom = 1 - joint.shares[has_say]
    usual = float(freedom.sum())
    if float(np.sum(told**2 / by_noise)) < usual + DOUBTFUL * np.sqrt(2 * usual):
        return 0.0
    found = 0.0
    for _ in range(4 * PASSES):
        weights = 1 / (by_noise + found) ** 2
        excess = float(weights @ (told**2 - freedom * by_noise))
        found = max(0.0, excess / max(float(weights @ freedom), np.finfo(np.float64).tiny))
    return found


def widen_for_few(shares: Floats) -> float:
    """How much further two standard deviations reach when few partials told the variance.

    `shares`, shape (k,), are the weights of the partials. Student's t at the level of two standard
    deviations, by its expansion in the degrees of freedom (Abramowitz & Stegun, Handbook of
    Mathematical Functions, 26.7.5; from memory).

    >>> round(widen_for_few(np.full(5, 0.2)), 2)
    1.41
    """
    freedom = max(1.0, 1 / float(shares @ shares) - 1)
    return min(WIDEST, 1 + 1.25 / freedom + 1.53 / freedom**2)
