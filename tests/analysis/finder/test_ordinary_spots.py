"""Anchors of the altissimo: regression over pitch, checked against errors that are known."""

import numpy as np

from analysis.finder.ordinary_spots import Anchors, Ordinary, find_anchors
from analysis.finder.spots import Spots

NOTES = np.arange(8500.0, 9000.0, 100.0)


def make_anchors(errors: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Anchors:
    holes = np.uint64(1) << np.arange(0, 4 * len(NOTES), 4).astype(np.uint64)
    spots = Spots(holes, np.full(len(NOTES), 3), NOTES + errors)
    return find_anchors(Ordinary(spots, NOTES, np.ones(len(NOTES), dtype=bool)))


def make_spots(*cents: float, number: int = 3) -> Spots:
    """Make spots at some heights that share no hole with an anchor."""
    holes = np.full(len(cents), 0x3FFF << 32, dtype=np.uint64)
    return Spots(holes, np.full(len(cents), number), np.array(cents))


def test_an_error_that_rises_with_the_pitch_is_carried_on_above() -> None:
    anchors = make_anchors(0.05 * (NOTES - 8500.0) - 5.0)
    between, above = anchors.find_errors(make_spots(8655.0, 9150.0))
    assert abs(between - 2.5) < 1.0
    assert 15.0 < above < 28.0  # the line would say 27.5; so far out it is half believed


def test_what_is_unknown_grows_away_from_the_anchors() -> None:
    rows = make_anchors(np.zeros(len(NOTES))).find_rows(make_spots(8700.0, 9000.0, 9200.0, 9500.0))
    sizes = np.linalg.norm(rows, axis=1)
    assert sizes[0] < 4.0
    assert np.all(np.diff(sizes) > 0)


def test_what_one_anchor_does_not_share_stays_with_its_fingering() -> None:
    anchors = make_anchors(np.array([0.0, 0.0, 0.0, 0.0, -14.0]))
    own = anchors.spots.select(np.array([4]))
    like = Spots(own.holes | np.uint64(1 << 60), own.numbers, own.cents)
    errors = [float(anchors.find_errors(one)[0]) for one in (own, like, make_spots(8886.0))]
    assert errors[0] < -12.0
    assert errors[0] < errors[1] < errors[2] < 0.0


def test_below_the_altissimo_nothing_is_corrected_or_unknown() -> None:
    anchors = make_anchors(np.full(len(NOTES), 9.0))
    low = make_spots(8300.0, number=2)
    assert not anchors.find_errors(low).any()
    assert not anchors.find_rows(low).any()


def test_without_ordinary_notes_up_there_nothing_is_corrected() -> None:
    none = Ordinary(make_spots(7000.0, number=2), np.array([7000.0]), np.zeros(1, dtype=bool))
    anchors = find_anchors(none)
    assert not anchors.find_errors(make_spots(8700.0)).any()
    assert anchors.find_rows(make_spots(8700.0)).shape == (1, 5)
