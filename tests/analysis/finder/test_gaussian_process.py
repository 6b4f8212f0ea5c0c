"""Learning against closed formulas of the Gaussian process in the space of values.

Source: Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, equations 2.23, 2.24
(prediction) and section 5.4.2 (leave one out, here by really leaving each out).
"""

import numpy as np
import pytest

from analysis.finder.gaussian_process import FittedProcess, Real, fit_process
from analysis.finder.hyperparameters import PRIOR
from analysis.finder.kernel import Own
from tests.analysis.finder.residuals import GROUPS, make_residuals


def predict_by_values(learned: FittedProcess, features: Real) -> tuple[Real, Real]:
    """Mean and variance of the shared part, by equations 2.23 and 2.24."""
    residuals = learned.residuals
    sizes = learned.hyperparameters.find_weights(GROUPS)
    inside, asked = residuals.features * sizes, features * sizes
    known = inside @ inside.T + np.diag(learned.own_variance + residuals.noise)
    across = asked @ inside.T
    inverse = np.linalg.inv(known)
    mean = across @ inverse @ residuals.cents
    return mean, np.sum(asked**2, axis=1) - np.einsum("ij,jk,ik->i", across, inverse, across)


def test_weights_and_values_give_the_same_prediction() -> None:
    learned = fit_process(make_residuals(30))
    features = np.random.default_rng(6).normal(size=(8, len(GROUPS)))
    estimate = learned.estimate(features)
    mean, variance = predict_by_values(learned, features)
    np.testing.assert_allclose(estimate.mean, mean, atol=1e-8)
    np.testing.assert_allclose(estimate.variance, variance, atol=1e-8)


def test_leaving_out_by_formula_is_leaving_out() -> None:
    residuals = make_residuals(12)
    learned = fit_process(residuals)
    left_out = learned.estimate_left_out()
    for place in range(12):
        rest = residuals.select(np.delete(np.arange(12), place))
        without = FittedProcess(rest, learned.hyperparameters, learned.weights, learned.root)
        mean, variance = predict_by_values(without, residuals.features[[place]])
        assert left_out.mean[place] == pytest.approx(mean[0])
        assert left_out.variance[place] == pytest.approx(variance[0])


def test_a_precise_measurement_is_believed() -> None:
    residuals = make_residuals(10)._replace(noise=np.full(10, 1e-6))
    known = fit_process(residuals).estimate_known()
    np.testing.assert_allclose(known.mean, residuals.cents, atol=0.01)


def test_nothing_learned_leaves_the_prior() -> None:
    none = make_residuals(1).select(np.zeros(0, dtype=np.int64))
    learned = fit_process(none)
    estimate = learned.estimate(np.eye(len(GROUPS)))
    assert learned.hyperparameters == PRIOR
    assert estimate.mean == pytest.approx(0.0)
    np.testing.assert_allclose(np.sqrt(estimate.variance), PRIOR.find_weights(GROUPS))
    far = Own(np.array([0.0, 200.0]), np.zeros(2), np.zeros(2))
    assert np.diff(PRIOR.find_own(far))[0] > 0
