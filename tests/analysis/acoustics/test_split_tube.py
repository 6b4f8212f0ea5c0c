import numpy as np
import pytest

from analysis.acoustics.split_tube import find_crossings, place_zeros

# Sines of known upward zeros stand for the products of a tube: truth by construction.
ROWS = np.arange(200.0)
FIRST = np.array([3.3, 7.9, 20.0001, 41.5])
PERIOD = np.array([30.0, 45.0, 50.0, 55.0])
VALUES = np.sin(2 * np.pi * (ROWS[:, np.newaxis] - FIRST) / PERIOD).astype(np.float32)


def test_the_upward_zeros_of_each_column_are_found() -> None:
    crossings = find_crossings(VALUES)
    for column in range(4):
        mine = crossings.columns == column
        expected = (
            FIRST[column]
            + PERIOD[column] * np.arange(-(-(199 - FIRST[column]) // PERIOD[column]))[:5]
        )
        assert crossings.numbers[mine].tolist() == list(range(len(expected)))
        assert crossings.rows[mine].tolist() == np.floor(expected).tolist()


def test_zeros_are_placed_between_rows() -> None:
    crossings = find_crossings(VALUES)
    expected = FIRST[crossings.columns] + PERIOD[crossings.columns] * crossings.numbers
    found = crossings.rows + place_zeros(VALUES, crossings)
    assert found == pytest.approx(expected, abs=2e-4)


def test_a_column_without_upward_zero_has_none() -> None:
    falling = -np.linspace(-1.0, 1.0, 50, dtype=np.float32)[:, np.newaxis]
    assert len(find_crossings(falling).columns) == 0
