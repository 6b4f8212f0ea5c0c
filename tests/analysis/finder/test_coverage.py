"""Coverage: sigma follows the errors that were left out, register by register."""

import numpy as np
import pytest

from analysis.finder.coverage import find_stretch

BEFORE = np.array([1.0, 1.1, 1.0])


def test_without_errors_it_stays_as_thought_before() -> None:
    nothing = np.zeros(0)
    assert find_stretch(nothing, nothing.astype(np.int64), BEFORE) == pytest.approx(BEFORE)


@pytest.mark.parametrize("scale", [0.7, 1.0, 1.6])
def test_many_errors_bring_two_thirds_of_them_within(scale: float) -> None:
    # truth: the scale that normal errors were drawn with
    errors = scale * np.abs(np.random.default_rng(3).standard_normal(900))
    groups = np.arange(900) % 3
    assert find_stretch(errors, groups, BEFORE) == pytest.approx(np.full(3, scale), rel=0.15)


def test_one_wild_error_changes_little() -> None:
    errors = np.append(np.abs(np.random.default_rng(4).standard_normal(20)), 40.0)
    groups = np.zeros(21, dtype=np.int64)
    wild = find_stretch(errors, groups, BEFORE)
    tame = find_stretch(errors[:20], groups[:20], BEFORE)
    assert wild == pytest.approx(tame, rel=0.2)


def test_a_register_without_errors_follows_the_others() -> None:
    errors, groups = np.full(60, 2.0), np.zeros(60, dtype=np.int64)
    assert (find_stretch(errors, groups, BEFORE) > 1.5 * BEFORE).all()
