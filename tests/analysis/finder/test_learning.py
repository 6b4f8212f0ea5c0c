"""Learning against closed formulas of the Gaussian process in the space of values.

Source: Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, equations 2.23, 2.24
(prediction) and section 5.4.2 (leave one out, here by really leaving each out).
"""

import numpy as np
import pytest

from analysis.finder.learning import Learned, Own, Real, Residuals, learn


def make_residuals(count: int, seed: int = 5) -> Residuals:
    rng = np.random.default_rng(seed)
    features = rng.normal(scale=4.0, size=(count, 6))
    cents = features @ rng.standard_normal(6) + rng.normal(scale=7.0, size=count)
    stretch = 1.0 + rng.random(count)
    return Residuals(features, cents, np.full(count, 9.0), Own(stretch, np.zeros(count)))


def predict_by_values(learned: Learned, features: Real) -> tuple[Real, Real]:
    """Mean and variance of the shared part, by equations 2.23 and 2.24."""
    residuals = learned.residuals
    known = learned.scale**2 * residuals.features @ residuals.features.T
    known += np.diag(learned.own_variance + residuals.noise)
    across = learned.scale**2 * features @ residuals.features.T
    inverse = np.linalg.inv(known)
    mean = across @ inverse @ residuals.cents
    prior = learned.scale**2 * np.sum(features**2, axis=1)
    return mean, prior - np.einsum("ij,jk,ik->i", across, inverse, across)


def test_weights_and_values_give_the_same_prediction() -> None:
    learned = learn(make_residuals(30))
    features = np.random.default_rng(6).normal(size=(8, 6))
    estimate = learned.estimate(features)
    mean, variance = predict_by_values(learned, features)
    np.testing.assert_allclose(estimate.mean, mean, atol=1e-8)
    np.testing.assert_allclose(estimate.variance, variance, atol=1e-8)


def test_leaving_out_by_formula_is_leaving_out() -> None:
    residuals = make_residuals(12)
    learned = learn(residuals)
    left_out = learned.estimate_left_out()
    for place in range(12):
        kept = np.arange(12) != place
        rest = Residuals(
            residuals.features[kept],
            residuals.cents[kept],
            residuals.noise[kept],
            Own(residuals.own.stretch[kept], residuals.own.fixed[kept]),
        )
        without = Learned(
            rest, learned.weights, learned.covariance, learned.scale, learned.own_cents
        )
        mean, variance = predict_by_values(without, residuals.features[[place]])
        assert left_out.mean[place] == pytest.approx(mean[0])
        assert left_out.variance[place] == pytest.approx(variance[0])


def test_a_precise_measurement_is_believed() -> None:
    residuals = make_residuals(10)
    residuals = residuals._replace(noise=np.full(10, 1e-6))
    known = learn(residuals).estimate_known()
    np.testing.assert_allclose(known.mean, residuals.cents, atol=0.01)


def test_nothing_learned_leaves_the_prior() -> None:
    none = Residuals(np.zeros((0, 6)), np.zeros(0), np.zeros(0), Own(np.zeros(0), np.zeros(0)))
    features = np.eye(6) * 3.0
    estimate = learn(none).estimate(features)
    assert estimate.mean == pytest.approx(0.0)
    assert estimate.variance == pytest.approx(9.0)


@pytest.mark.parametrize(("own_cents", "low", "high"), [(3.0, 2.0, 4.5), (14.0, 11.0, 17.5)])
def test_what_each_has_of_its_own_is_found(own_cents: float, low: float, high: float) -> None:
    rng = np.random.default_rng(8)
    features = rng.normal(scale=4.0, size=(300, 6))
    cents = features @ rng.standard_normal(6) + rng.normal(scale=own_cents, size=300)
    own = Own(np.ones(300), np.zeros(300))
    learned = learn(Residuals(features, cents, np.full(300, 0.25), own))
    assert low < learned.own_cents < high
