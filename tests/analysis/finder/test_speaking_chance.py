"""Chance to speak: learned from how often the player's fingerings spoke."""

import numpy as np
import pytest

from analysis.finder.speaking_chance import (
    SpeakingPrior,
    find_speaking_chances,
    find_speaking_prior,
    fit_log_odds,
)
from analysis.finder.spots import Bits, Numbers, Real, Spots

NO_VOTES: tuple[Bits, Numbers, Real] = (
    np.zeros(0, np.uint64),
    np.zeros(0, np.int64),
    np.zeros(0),
)
FAR = Spots(np.array([0], np.uint64), np.array([1]), np.array([6000.0]))


def make_prior(
    count: int, *, chance: float, is_wild: bool = False, apart: int = 2
) -> SpeakingPrior:
    return SpeakingPrior(np.full(count, chance), np.full(count, is_wild), np.full(count, apart))


@pytest.mark.parametrize("rate", [0.4, 0.8, 0.96])
def test_many_fingerings_show_how_often_they_speak(rate: float) -> None:
    # truth: the share of 500 that spoke
    spoke = (np.arange(500) < 500 * rate).astype(np.float64)
    log_odds = fit_log_odds(make_prior(500, chance=0.8), spoke)
    (found,) = find_speaking_chances(FAR, make_prior(1, chance=0.8), log_odds, NO_VOTES)
    assert found == pytest.approx(rate, abs=0.02)


def test_the_mode_is_where_the_posterior_is_flat() -> None:
    rng = np.random.default_rng(8)
    chances, wild = rng.uniform(0.2, 0.9, 30), rng.random(30) < 0.3
    spoke = (rng.random(30) < 0.7).astype(np.float64)
    prior = SpeakingPrior(chances, wild, np.ones(30, dtype=np.int64))
    found = fit_log_odds(prior, spoke)

    def grade(at: Real) -> float:
        odds = np.log(chances / (1 - chances)) + at[0] + at[1] * wild
        likelihood = np.sum(spoke * odds - np.log1p(np.exp(odds)))
        return float(likelihood - 0.5 * np.sum(at**2))

    for step in np.vstack([np.eye(2), -np.eye(2)]) * 1e-2:
        assert grade(found + step) < grade(found)


def test_ordinary_fingerings_tell_nothing_and_nothing_is_learned_from_none() -> None:
    ordinary = make_prior(40, chance=0.9, apart=0)
    assert fit_log_odds(ordinary, np.zeros(40)).tolist() == [0.0, 0.0]
    assert fit_log_odds(make_prior(0, chance=0.9), np.zeros(0)).tolist() == [0.0, 0.0]


def test_wild_notes_that_spoke_are_doubted_less_and_others_hardly_change() -> None:
    log_odds = fit_log_odds(make_prior(8, chance=0.35, is_wild=True), np.ones(8))
    wild, tame = (
        find_speaking_chances(FAR, make_prior(1, chance=0.35, is_wild=one), log_odds, NO_VOTES)
        for one in (True, False)
    )
    assert wild > 0.7
    assert 0.35 < tame < wild


def test_before_anything_was_played_the_prior_stays() -> None:
    prior = find_speaking_prior(
        np.array([1.0, 0.2, 0.02, np.nan]), np.zeros(4, dtype=np.bool_), np.full(4, 1)
    )
    four = FAR.select(np.zeros(4, dtype=np.int64))
    chances = find_speaking_chances(four, prior, np.zeros(2), NO_VOTES)
    assert chances == pytest.approx(prior.chances)
    assert chances[0] > chances[3] > chances[1] > chances[2]
