"""Choosing together: differing bets before the same bet again."""

import numpy as np
import pytest

from analysis.finder.maximum_coverage import choose_together, draw_hits, find_chances, place_early


def test_chances_are_those_of_the_normal_distribution() -> None:
    # any table of the normal distribution: 68.27% within 1 sigma, 95.45% within 2
    chances = find_chances(np.array([0.0, 0.0, 10.0]), np.array([10.0, 5.0, 10.0]), 10.0)
    assert chances == pytest.approx([0.6827, 0.9545, 0.4772], abs=1e-4)


def test_a_different_bet_comes_before_the_same_bet() -> None:
    shared = np.array([[12.0, 0.0], [12.0, 0.0], [0.0, 12.0]])
    offsets, sigmas = np.array([0.0, 0.5, 6.0]), np.full(3, 12.1)
    hits = draw_hits(offsets, sigmas, shared, tolerance_cents=10.0, speaks=np.ones(3))
    chances = find_chances(offsets, sigmas, 10.0)
    chosen = choose_together(hits, chances, np.ones(3), 3)
    assert chosen.places == [0, 2, 1]
    assert chosen.gains == sorted(chosen.gains, reverse=True)


def test_draws_hit_as_often_as_the_chances_say() -> None:
    rng = np.random.default_rng(3)
    shared = rng.normal(scale=3.0, size=(40, 5))
    sigmas = np.sqrt(np.sum(shared**2, axis=1) + 36.0)
    offsets = rng.normal(scale=10.0, size=40)
    speaks = np.full(40, 0.8)
    hits = draw_hits(offsets, sigmas, shared, tolerance_cents=10.0, speaks=speaks)
    expected = speaks * find_chances(offsets, sigmas, 10.0)
    assert np.mean(np.abs(hits.mean(axis=1) - expected)) < 0.03


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        (0, [0, 1, 2]),  # the best bet already
        (2, [0, 2, 1]),  # nearly as good: right after it
        (3, [0, 3, 1]),  # not chosen, and nearly as good: the last makes room
        (4, [0, 1, 4]),  # not chosen, and no good bet: it stands last
    ],
)
def test_what_must_be_among_the_choices_comes_early_if_it_is_nearly_as_good(
    place: int, expected: list[int]
) -> None:
    order = [0, 1, 2]
    place_early(order, place, np.array([0.5, 0.2, 0.4, 0.35, 0.1]))
    assert order == expected
