"""The scales are the most probable ones, and a few ordinary notes say how far to trust the rest."""

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from analysis.finder import hyperparameters as hyperparameters_module
from analysis.finder.hyperparameters import PRIOR, Hyperparameters, Residuals, fit_hyperparameters
from analysis.finder.kernel import Own
from analysis.finder.spots import Real
from tests.analysis.finder.residuals import GROUPS, TYPICAL, make_residuals


def grade_by_values(free: Real, residuals: Residuals) -> float:
    """Minus the logarithm of the posterior density, but for a constant.

    Rasmussen & Williams 2006, equation 2.30, with the prior on the scales added.
    """
    logarithms = hyperparameters_module._CENTRES + hyperparameters_module._COUPLING @ free
    hyperparameters = Hyperparameters.from_logarithms(logarithms)
    scaled = residuals.features * hyperparameters.find_weights(GROUPS)
    known = scaled @ scaled.T + np.diag(hyperparameters.find_own(residuals.own) + residuals.noise)
    fit = residuals.cents @ np.linalg.solve(known, residuals.cents)
    prior = np.sum((free / hyperparameters_module._SPREADS) ** 2)
    return float(0.5 * (fit + np.linalg.slogdet(known)[1] + prior))


@pytest.mark.parametrize("count", [4, 40])
def test_the_density_is_that_of_the_space_of_values_and_its_slope_too(count: int) -> None:
    residuals = make_residuals(count)
    free = np.array([0.3, -0.4, 0.2, 0.5, -0.1, 0.6])
    worth, slope = hyperparameters_module._grade(free, residuals)
    start, _ = hyperparameters_module._grade(np.zeros(6), residuals)
    expected = grade_by_values(free, residuals) - grade_by_values(np.zeros(6), residuals)
    assert worth - start == pytest.approx(expected)
    differences = approx_fprime(free, lambda at: grade_by_values(at, residuals), 1e-6)
    np.testing.assert_allclose(slope, differences, rtol=1e-3, atol=1e-3)


@pytest.mark.parametrize("own_cents", [3.0, 14.0])
def test_what_each_fingering_has_of_its_own_is_found(own_cents: float) -> None:
    residuals = make_residuals(280, TYPICAL._replace(own=own_cents, per_shift=0.1, per_reach=0.01))
    assert fit_hyperparameters(residuals).own == pytest.approx(own_cents, rel=0.3)


@pytest.mark.parametrize("tube", [0.3, 1.5])
def test_how_well_the_measures_are_known_is_found(tube: float) -> None:
    found = fit_hyperparameters(make_residuals(280, TYPICAL._replace(tube=tube)))
    assert found.tube == pytest.approx(tube, rel=0.5)


def test_without_residuals_the_prior_stays() -> None:
    assert fit_hyperparameters(make_residuals(0)) == PRIOR


def test_ordinary_notes_that_scatter_make_everything_less_sure() -> None:
    still = Own(np.zeros(10), np.zeros(10), np.zeros(10))
    features = np.zeros((10, len(GROUPS)))
    drawn = np.random.default_rng(3).standard_normal(10)
    quiet, wild = (
        fit_hyperparameters(Residuals(features, GROUPS, size * drawn, np.full(10, 9.0), still))
        for size in (3.0, 15.0)
    )
    assert wild.own > 2 * quiet.own
    assert wild.share > quiet.share
    assert wild.per_shift > quiet.per_shift


def test_of_very_many_residuals_some_are_enough() -> None:
    many = fit_hyperparameters(make_residuals(2_000))
    assert many.own == pytest.approx(TYPICAL.own, rel=0.3)
