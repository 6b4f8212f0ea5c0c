"""Numbers as the notebook writes them everywhere."""

import math

LEAST_UNCERTAINTY_CENTS = 0.1


def state_uncertainty(cents: float) -> float:
    """Return an uncertainty as it is stated, in figures and in JSON: never under 0.1 cent.

    >>> state_uncertainty(0.00002), state_uncertainty(1.31)
    (0.1, 1.31)
    """
    return max(LEAST_UNCERTAINTY_CENTS, cents)


def round_uncertainty(cents: float) -> float:
    """Round an uncertainty up to one decimal, as it is written everywhere; 0.1 at least.

    >>> round_uncertainty(3.01)
    3.1
    """
    return math.ceil(state_uncertainty(cents) * 10 - 1e-9) / 10


def format_uncertainty(cents: float) -> str:
    """Write an uncertainty with one decimal, rounded up: no recording proves a pitch to 0.0.

    >>> format_uncertainty(0.02), format_uncertainty(1.31)
    ('0.1', '1.4')
    """
    return f"{round_uncertainty(cents):.1f}"
