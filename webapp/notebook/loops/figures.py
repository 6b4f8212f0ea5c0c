"""Figure of a pair: the median of its newest loops, and what they say of moving either way.

Of many recordings the newest three count, since a change is practised: one bad day among them moves
little, and last year's counts no more. This is the one place that says so.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.keywork import parse_fingering
from analysis.performance import describe_evenness
from analysis.planning import Played
from webapp.notebook.store.rows import Instrument, KeptLoop, LoopPair

NEWEST_COUNT = 3
SHORTEST_TOLD_S = 0.0095


@dataclass(frozen=True, slots=True)
class WayTime:
    """How long the change takes in one direction, with one standard deviation, in seconds."""

    seconds: float
    uncertainty_s: float


@dataclass(frozen=True, slots=True)
class LoopFigure:
    """What the newest loops of a pair say together; a time is None where none of them has one.

    `rate_hz` is changes a second, `unevenness` the pairwise variability index in percent; `count`
    is how many loops there are, `recorded_at` when the last was played.
    """

    rate_hz: float
    unevenness: float
    up: WayTime | None
    down: WayTime | None
    count: int
    recorded_at: datetime

    @property
    def evenness(self) -> str:
        """How even it is, in words."""
        return describe_evenness(self.unevenness)


def tell_time(seconds: float) -> str:
    """Say how long a change takes; what the windows cannot tell apart is one thing.

    >>> tell_time(0.0904), tell_time(0.003)
    ('90 ms', 'under 10 ms')
    """
    return f"{1000 * seconds:.0f} ms" if seconds >= SHORTEST_TOLD_S else "under 10 ms"


def find_figure(loops: Sequence[KeptLoop]) -> LoopFigure:
    """Put the loops of a pair together, the newest first; there is at least one."""
    newest = loops[:NEWEST_COUNT]
    return LoopFigure(
        rate_hz=median(each.rate_hz for each in newest),
        unevenness=median(each.unevenness for each in newest),
        up=_find_time((each.up_s, each.up_uncertainty_s) for each in newest),
        down=_find_time((each.down_s, each.down_uncertainty_s) for each in newest),
        count=len(loops),
        recorded_at=loops[0].recorded_at,
    )


def _find_time(times: Iterable[tuple[float | None, float | None]]) -> WayTime | None:
    known = [(seconds, give) for seconds, give in times if seconds is not None and give is not None]
    if not known:
        return None
    return WayTime(median(each for each, _ in known), median(give for _, give in known))


def load_loops(session: Session, instrument_id: int) -> dict[LoopPair, tuple[KeptLoop, ...]]:
    """Return the loops of an instrument by their pairs, both the newest first."""
    query = (
        select(KeptLoop)
        .where(KeptLoop.instrument_id == instrument_id, KeptLoop.deleted_at.is_(None))
        .order_by(KeptLoop.recorded_at.desc(), KeptLoop.id.desc())
    )
    found: dict[LoopPair, list[KeptLoop]] = {}
    for row in session.scalars(query):
        found.setdefault(row.pair, []).append(row)
    return {pair: tuple(rows) for pair, rows in found.items()}


def load_figures(session: Session, instrument_id: int) -> dict[LoopPair, LoopFigure]:
    """Return the figure of each pair of an instrument that loops were recorded of."""
    return {pair: find_figure(rows) for pair, rows in load_loops(session, instrument_id).items()}


def find_way_times(
    instrument: Instrument, figures: Mapping[LoopPair, LoopFigure]
) -> dict[tuple[Played, Played], float]:
    """Return how long the change takes, in seconds, for each way that was measured."""
    times: dict[tuple[Played, Played], float] = {}
    for pair, figure in figures.items():
        try:
            lower = Played(
                parse_fingering(pair.lower_keys_text, instrument.layout), float(pair.lower.cents)
            )
            upper = Played(
                parse_fingering(pair.upper_keys_text, instrument.layout), float(pair.upper.cents)
            )
        except AnalysisError:
            continue  # keys of an earlier keywork
        if figure.up is not None:
            times[lower, upper] = figure.up.seconds
        if figure.down is not None:
            times[upper, lower] = figure.down.seconds
    return times
