"""Sound given to the live modules of a page, and what they make of it, as numpy arrays."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Page

Samples = NDArray[np.float64]

# Samples cross as text, since a list of numbers takes a hundred times as long.
UNPACK = """(text) => new Float32Array(
    Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer)"""

# By `step` samples, as a microphone would bring them; `heard` is how much had come by then.
TRACK = f"""async ([text, rate, range, step]) => {{
    const {{ PitchTracker }} = await import("/static/js/sound/tracker.js");
    const samples = ({UNPACK})(text);
    const tracker = new PitchTracker(rate, range ?? undefined);
    const readings = [];
    for (let at = 0; at < samples.length; at += step) {{
        const chunk = samples.slice(at, at + step);
        tracker.push(chunk, at);
        const reading = tracker.read();
        if (reading) readings.push({{ ...reading, heardS: (at + chunk.length) / rate }});
    }}
    return readings;
}}"""


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


def pack(samples: NDArray[Any]) -> str:
    """Samples as text for `UNPACK`."""
    return base64.b64encode(np.asarray(samples, dtype="<f4").tobytes()).decode("ascii")


def as_readings(found: list[dict[str, float | None]]) -> Readings:
    """What a page gave back, as columns."""
    names = ("timeS", "heardS", "f0Hz", "heldHz", "spreadCents", "levelDb")
    return Readings(*(np.array([row.get(name) for row in found], dtype=float) for name in names))


def track(
    page: Page,
    samples: NDArray[Any],
    rate_hz: float,
    *,
    low_hz: float | None = None,
    step_s: float = 0.02,
) -> Readings:
    """Readings of the tracker, without a worker and as fast as it goes."""
    span = None if low_hz is None else {"lowHz": low_hz}
    step = round(step_s * rate_hz)
    return as_readings(page.evaluate(TRACK, [pack(samples), rate_hz, span, step]))
