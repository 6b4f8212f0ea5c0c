import numpy as np

from analysis.acoustics.split_tube import find_crossings

# Sines of known upward zeros stand for the products of a tube: truth by construction.
PLACES = np.arange(200.0)
FIRST = np.array([3.3, 7.9, 20.0001, 41.5])
PERIOD = np.array([30.0, 45.0, 50.0, 55.0])
VALUES = np.sin(2 * np.pi * (PLACES - FIRST[:, np.newaxis]) / PERIOD[:, np.newaxis])


def test_the_upward_zeros_of_each_state_are_found() -> None:
    crossings = find_crossings(VALUES)
    for state in range(4):
        mine = crossings.states == state
        expected = (
            FIRST[state] + PERIOD[state] * np.arange(-(-(199 - FIRST[state]) // PERIOD[state]))[:5]
        )
        assert crossings.numbers[mine].tolist() == list(range(len(expected)))
        assert crossings.rows[mine].tolist() == np.floor(expected).tolist()


def test_a_state_without_upward_zero_has_none() -> None:
    falling = -np.linspace(-1.0, 1.0, 50)[np.newaxis]
    assert len(find_crossings(falling).states) == 0
