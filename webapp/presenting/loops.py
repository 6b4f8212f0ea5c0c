"""Loops in words: rate and evenness, how long the change takes each way, what was odd."""

from __future__ import annotations

from webapp.notebook.loops.figures import LoopFigure, WayTime, tell_time
from webapp.notebook.store.rows import KeptLoop

_NO_TIMES = "too quick or too unsteady to say how long the change takes"


def tell_rate(figure: LoopFigure) -> str:
    """Say how often the note changes, and how evenly."""
    return (
        f"{figure.rate_hz:.1f} changes a second, {figure.evenness} "
        f"({figure.unevenness:.0f}% unevenness)"
    )


def tell_ways(figure: LoopFigure) -> str:
    """Say how long the change takes up and down."""
    told = [
        f"{name} {_tell_way(way)}"
        for name, way in (("up", figure.up), ("down", figure.down))
        if way is not None
    ]
    return ", ".join(told) or _NO_TIMES


def describe_figure(figure: LoopFigure | None) -> dict[str, str] | None:
    """Return the figure of a pair for a script; None where no loop of it is left."""
    return None if figure is None else {"ways": tell_ways(figure), "rate": tell_rate(figure)}


def _tell_way(way: WayTime) -> str:
    return f"{tell_time(way.seconds)} ± {1000 * way.uncertainty_s:.0f}"


def tell_oddities(row: KeptLoop) -> str:
    """Say what was heard besides two notes; empty where nothing was."""
    every = f"of {row.change_count} changes"
    told = []
    if row.other_count:
        told.append(f"Another note was heard within {row.other_count} {every}.")
    if row.silent_count:
        told.append(f"The sound broke off within {row.silent_count} {every}.")
    if row.break_count:
        times = "once" if row.break_count == 1 else f"{row.break_count} times"
        told.append(f"The loop was broken off {times}.")
    return " ".join(told)
