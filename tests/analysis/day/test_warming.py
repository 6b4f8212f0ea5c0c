"""Warming by the room: closed formulas of the conjugate regression, and made-up players."""

import math

import numpy as np
import pytest

from analysis.day import WARMING_CENTS_PER_C, WarmDay, fit_warming
from analysis.day.warming import DAY_SCATTER_CENTS, WARMING_SIGMA_CENTS_PER_C


def test_nothing_known_is_the_prior() -> None:
    for days in ([], [WarmDay(20.0, 7.0, 0.1)], [WarmDay(20.0, 7.0, 0.1)] * 3):
        found = fit_warming(days)
        assert found.cents_per_c == pytest.approx(WARMING_CENTS_PER_C)
        assert found.sigma_cents_per_c == pytest.approx(WARMING_SIGMA_CENTS_PER_C)


def test_two_days_are_weighed_against_the_prior() -> None:
    # 10 degrees apart and as sure as each other: Sxx = 2 w 5^2, Sxy = w 5 (y2 - y1)
    low, high = WarmDay(15.0, -20.0, 3.0), WarmDay(25.0, 5.0, 3.0)
    weight = 1.0 / (DAY_SCATTER_CENTS**2 + 9.0)
    precision = 1.0 + 50.0 * weight
    found = fit_warming([high, low])
    assert found.cents_per_c == pytest.approx((1.5 + weight * 5.0 * 25.0) / precision)
    assert found.sigma_cents_per_c == pytest.approx(math.sqrt(1.0 / precision))
    assert found.day_count == 2


def test_how_sharp_the_instrument_is_does_not_matter() -> None:
    days = [WarmDay(14.0, -6.0, 0.2), WarmDay(19.0, 2.0, 0.2), WarmDay(26.0, 9.0, 1.0)]
    higher = [day._replace(offset_cents=day.offset_cents + 30.0) for day in days]
    assert fit_warming(higher).cents_per_c == pytest.approx(fit_warming(days).cents_per_c)


def test_players_are_found_within_the_stated_uncertainty() -> None:
    draw = np.random.default_rng(8)
    errors = []
    for _ in range(300):
        slope = draw.normal(WARMING_CENTS_PER_C, WARMING_SIGMA_CENTS_PER_C)
        air_c = draw.uniform(15.0, 27.0, size=6)
        offsets = 11.0 + slope * air_c + draw.normal(0.0, DAY_SCATTER_CENTS, size=6)
        found = fit_warming([WarmDay(*each, 0.0) for each in zip(air_c, offsets, strict=True)])
        errors.append((found.cents_per_c - slope) / found.sigma_cents_per_c)
    assert np.mean(errors) == pytest.approx(0.0, abs=0.15)
    assert np.std(errors) == pytest.approx(1.0, abs=0.1)
