"""Sound given to the live pitch, and what it makes of it, as numpy arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.javascript.node import Node

Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Readings:
    """Readings as columns; NaN where there is none."""

    times_s: Samples
    heard_s: Samples
    f0_hz: Samples
    held_hz: Samples
    spread_cents: Samples
    level_db: Samples

    def off_cents(self, f0_hz: float, from_s: float, to_s: float) -> Samples:
        """How far the pitches told within a span lie from `f0_hz`."""
        inside = (self.times_s >= from_s) & (self.times_s <= to_s)
        cents = 1200 * np.log2(self.f0_hz[inside] / f0_hz)
        return np.asarray(cents[np.isfinite(cents)])

    def told_share(self) -> float:
        """The share of readings that tell a pitch."""
        return float(np.isfinite(self.f0_hz).mean())


def as_readings(found: list[dict[str, float | None]]) -> Readings:
    """What the tracker or a page gave back, as columns."""
    names = ("timeS", "heardS", "f0Hz", "heldHz", "spreadCents", "levelDb")
    return Readings(*(np.array([row.get(name) for row in found], dtype=float) for name in names))


def track(
    node: Node,
    samples: NDArray[Any],
    rate_hz: float,
    *,
    low_hz: float | None = None,
    step_s: float = 0.02,
) -> Readings:
    """Readings of the tracker, without a worker and as fast as it goes."""
    span = None if low_hz is None else {"lowHz": low_hz}
    step = round(step_s * rate_hz)
    return as_readings(node.job("live-pitch.js", "track", samples, rate_hz, span, step))
