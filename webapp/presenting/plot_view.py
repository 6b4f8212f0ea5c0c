"""The view of a plot: the span of time and frequency in its address, and links to other views.

A link to a view is plain: `from` and `to` in seconds, `low` and `high` in Hz.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from analysis.recording.spectrogram import View
from webapp.notebook.store.errors import Refused

SHORTEST_S = 0.05
SMALLEST_RATIO = 2 ** (1 / 4)
HIGHEST_HZ = 8000.0
LOWEST_HZ = 25.0
USUAL_LOWEST_HZ = 100.0
_CLOSER, _WIDER, _ASIDE = 0.5, 2.0, 0.5


@dataclass(frozen=True, slots=True)
class Move:
    """A way to another view; `query` is None where it leads nowhere further."""

    words: str
    query: dict[str, str] | None


def whole_view(duration_s: float, f0_hz: float | None) -> View:
    """Return the view of a whole take: from under its fundamental to 8 kHz."""
    low_hz = USUAL_LOWEST_HZ if f0_hz is None else max(LOWEST_HZ, f0_hz / 2)
    return View(0.0, max(duration_s, SHORTEST_S), min(low_hz, HIGHEST_HZ / 4), HIGHEST_HZ)


def read_view(args: Mapping[str, str], whole: View) -> View:
    """Read a view from an address, within the whole.

    Raises:
        Refused: something else than numbers stands there, or nothing is left to see.
    """
    from_s = max(whole.from_s, _number(args, "from", whole.from_s))
    to_s = min(whole.to_s, _number(args, "to", whole.to_s))
    low_hz = max(LOWEST_HZ, _number(args, "low", whole.low_hz))
    high_hz = min(HIGHEST_HZ, _number(args, "high", whole.high_hz))
    # A little less than the least, since addresses carry rounded numbers.
    if to_s - from_s < 0.9 * SHORTEST_S or high_hz / low_hz < 0.99 * SMALLEST_RATIO:
        raise Refused(
            "This address asks for a part of the recording that is not there. "
            f"The recording lasts {whole.to_s:.2f} s; look at the whole of it again."
        )
    return View(from_s, to_s, low_hz, high_hz)


def query_of(view: View) -> dict[str, str]:
    """Write a view as the query of an address."""
    return {
        "from": f"{view.from_s:.4g}",
        "to": f"{view.to_s:.4g}",
        "low": f"{view.low_hz:.4g}",
        "high": f"{view.high_hz:.4g}",
    }


def list_moves(view: View, whole: View) -> tuple[Move, ...]:
    """Return the ways on from a view; none leaves the whole."""
    pitch_whole = replace(whole, low_hz=LOWEST_HZ, high_hz=HIGHEST_HZ)
    wanted = (
        ("Closer in time", _in_time(view, whole, _CLOSER, 0.0)),
        ("Wider in time", _in_time(view, whole, _WIDER, 0.0)),
        ("Earlier", _in_time(view, whole, 1.0, -_ASIDE)),
        ("Later", _in_time(view, whole, 1.0, _ASIDE)),
        ("Closer in pitch", _in_pitch(view, pitch_whole, _CLOSER, 0.0)),
        ("Wider in pitch", _in_pitch(view, pitch_whole, _WIDER, 0.0)),
        ("Lower", _in_pitch(view, pitch_whole, 1.0, -_ASIDE)),
        ("Higher", _in_pitch(view, pitch_whole, 1.0, _ASIDE)),
        ("The whole take", whole),
    )
    here = query_of(view)
    return tuple(
        Move(words, None if query_of(there) == here else query_of(there)) for words, there in wanted
    )


def _number(args: Mapping[str, str], name: str, usual: float) -> float:
    text = args.get(name, "").strip()
    if not text:
        return usual
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise Refused(
            f"“{text[:20]}” is no number of {'seconds' if name in ('from', 'to') else 'Hz'}. "
            "Use the links under the picture."
        )
    return value


def _in_time(view: View, whole: View, factor: float, aside: float) -> View:
    from_s, to_s = _fit(
        (view.from_s, view.to_s), (whole.from_s, whole.to_s), factor, aside, SHORTEST_S
    )
    return replace(view, from_s=from_s, to_s=to_s)


def _in_pitch(view: View, whole: View, factor: float, aside: float) -> View:
    low, high = _fit(
        (math.log2(view.low_hz), math.log2(view.high_hz)),
        (math.log2(whole.low_hz), math.log2(whole.high_hz)),
        factor,
        aside,
        math.log2(SMALLEST_RATIO),
    )
    return replace(view, low_hz=2**low, high_hz=2**high)


def _fit(
    span: tuple[float, float],
    whole: tuple[float, float],
    factor: float,
    aside: float,
    least: float,
) -> tuple[float, float]:
    """Scale and shift a span about its middle, and push it back into the whole."""
    length = span[1] - span[0]
    wanted = min(max(length * factor, least), whole[1] - whole[0])
    middle = (span[0] + span[1]) / 2 + aside * length
    start = min(max(middle - wanted / 2, whole[0]), whole[1] - wanted)
    return start, start + wanted
