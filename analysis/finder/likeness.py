"""Acoustic likeness: fingerings that the tube can't tell apart, as where a key does nothing.

Two spots are one sound where they are on the same resonance, the tube puts them within a cent or
two, they differ in a few holes at most, and whatever the tube is off by moves both alike.
"""

from __future__ import annotations

import numpy as np

from analysis.finder.spots import Numbers, Real, Spots

_LIKE_CENTS = 1.5
_LIKE_ROWS_CENTS = 1.0
_MOST_HOLES = 4


def find_like_pairs(
    first: Spots, first_rows: Real, second: Spots, second_rows: Real
) -> tuple[Numbers, Numbers]:
    """Find the pairs of spots, one of each list, that are one sound.

    Args:
        first: n spots.
        first_rows: what one standard deviation of each way the tube may be off does to them, cents,
            shape (n, ways).
        second: m spots.
        second_rows: the same, shape (m, ways).

    Returns:
        Places in the first and in the second list, both of shape (pairs,).
    """
    apart = np.abs(first.cents[:, np.newaxis] - second.cents)
    is_near = (apart <= _LIKE_CENTS) & (first.numbers[:, np.newaxis] == second.numbers)
    ones, others = np.nonzero(is_near)
    differing = np.bitwise_count(first.holes[ones] ^ second.holes[others])
    rows = np.linalg.norm(first_rows[ones] - second_rows[others], axis=1)
    kept = (differing <= _MOST_HOLES) & (rows <= _LIKE_ROWS_CENTS)
    return ones[kept], others[kept]


def group_alike(spots: Spots, rows: Real) -> list[list[int]]:
    """Group spots that are one sound, each by the first that it is like.

    Args:
        spots: n spots, the one to be kept of its like first.
        rows: as for `find_like_pairs`, shape (n, ways).

    Returns:
        The places of each group, rising; a spot stands in one group only.
    """
    like: dict[int, list[int]] = {place: [] for place in range(len(spots))}
    for one, other in zip(*find_like_pairs(spots, rows, spots, rows), strict=True):
        like[int(one)].append(int(other))
    groups: list[list[int]] = []
    taken: set[int] = set()
    for place, others in like.items():
        if place not in taken:
            group = [place, *(other for other in others if other > place and other not in taken)]
            taken.update(group)
            groups.append(group)
    return groups
