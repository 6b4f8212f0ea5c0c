"""The spectrum of a take: level over frequency, its partials marked and numbered.

Levels are in dB relative to the strongest partial, frequency in kHz on an even scale, so that the
partials of a harmonic tone stand at even distances. Numbers that would run into each other give way
to the stronger partial's; every partial keeps its dot.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

from analysis.pitch import format_cents
from analysis.recording import Partial, Spectrum
from webapp.drawing.plot import (
    ACCENT,
    PLOT_WIDTH,
    Axis,
    bottom_scale,
    gridlines,
    polyline,
    round_ticks,
    small_text,
)
from webapp.drawing.svg import ViewBox, element, render, svg_root

SPECTRUM_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 196)
_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 332.0, 36.0, 160.0
_FLOOR_DB, _CEILING_DB = -80.0, 5.0
_LEAST_PARTIALS_SHOWN = 12
_NAMED_PARTIALS = 5
_NUMBER_ROOM = 15.0


def describe_spectrum(spectrum: Spectrum, *, f0_hz: float) -> str:
    """The spectrum in words: its strongest partials, strongest first, with their levels."""
    if not spectrum.partials:
        return "No partials were found in this take."
    named = ", ".join(
        f"{partial.number} ({_format_db(partial.level_db)} dB)"
        for partial in _strongest_first(spectrum.partials)[:_NAMED_PARTIALS]
    )
    return (
        f"Strongest partials of the tone at {f0_hz:.1f} Hz, strongest first: {named}. "
        f"{len(spectrum.partials)} partials are marked."
    )


def draw_spectrum(spectrum: Spectrum, *, f0_hz: float, id_prefix: str = "spectrum") -> str:
    """Draw level in dB over frequency in kHz with the partials of `f0_hz` numbered."""
    words = describe_spectrum(spectrum, f0_hz=f0_hz)
    root = svg_root(
        SPECTRUM_VIEW_BOX, title="Spectrum", desc=words, id_prefix=id_prefix, class_="spectrum"
    )
    if not spectrum.freq_hz:
        root.append(small_text("no spectrum", x=PLOT_WIDTH / 2, y=100, anchor="middle"))
        return render(root)
    freq_axis = Axis(0.0, _choose_top_hz(spectrum, f0_hz), _LEFT, _RIGHT)
    level_axis = Axis(_FLOOR_DB, _CEILING_DB, _BOTTOM, _TOP)
    root.append(small_text("dB, strongest partial = 0", x=4, y=12))
    root.append(_level_grid(level_axis))
    root.append(_frequency_scale(freq_axis))
    root.append(_curve(spectrum, freq_axis, level_axis))
    root.append(_partial_marks(spectrum.partials, freq_axis, level_axis))
    return render(root)


def _format_db(level_db: float) -> str:
    rounded = format_cents(level_db, decimals=0)
    return rounded.removeprefix("+")


def _strongest_first(partials: tuple[Partial, ...]) -> list[Partial]:
    return sorted(partials, key=lambda partial: -partial.level_db)


def _choose_top_hz(spectrum: Spectrum, f0_hz: float) -> float:
    highest_hz = max((partial.freq_hz for partial in spectrum.partials), default=0.0)
    wanted_hz = max(highest_hz + f0_hz, f0_hz * _LEAST_PARTIALS_SHOWN)
    return min(wanted_hz, max(*spectrum.freq_hz, f0_hz))


def _level_grid(axis: Axis) -> ET.Element:
    ticks = round_ticks(axis.low, axis.high, at_most=5)
    grid = element("g", class_="scale")
    grid.append(gridlines((axis.place(tick) for tick in ticks), left=_LEFT, right=_RIGHT))
    for tick in ticks:
        grid.append(small_text(_format_db(tick), x=_LEFT - 6, y=axis.place(tick) + 4, anchor="end"))
    return grid


def _frequency_scale(axis: Axis) -> ET.Element:
    ticks = round_ticks(axis.low, axis.high, at_most=6)
    scale = bottom_scale(axis, _BOTTOM + 4, [(tick, f"{tick / 1000:g}") for tick in ticks])
    scale.append(small_text("kHz", x=_RIGHT + 5, y=_BOTTOM + 21))
    return scale


def _curve(spectrum: Spectrum, freq_axis: Axis, level_axis: Axis) -> ET.Element:
    points = [
        (freq_axis.place(freq_hz), level_axis.place(_within_scale(level_db)))
        for freq_hz, level_db in zip(spectrum.freq_hz, spectrum.level_db, strict=True)
        if freq_axis.holds(freq_hz) and math.isfinite(level_db)
    ]
    curve = element("g", class_="level")
    if points:
        curve.append(polyline(points, width=1.0))
    return curve


def _within_scale(level_db: float) -> float:
    return min(max(level_db, _FLOOR_DB), _CEILING_DB)


def _partial_marks(partials: tuple[Partial, ...], freq_axis: Axis, level_axis: Axis) -> ET.Element:
    marks = element("g", class_="accent", color=ACCENT)
    numbered: list[float] = []
    for partial in _strongest_first(partials):
        if not freq_axis.holds(partial.freq_hz) or partial.level_db < _FLOOR_DB:
            continue
        x, y = freq_axis.place(partial.freq_hz), level_axis.place(_within_scale(partial.level_db))
        marks.append(element("circle", cx=x, cy=y, r=2.2, fill="currentColor"))
        if all(abs(x - other) >= _NUMBER_ROOM for other in numbered):
            numbered.append(x)
            marks.append(small_text(str(partial.number), x=x, y=y - 6, anchor="middle"))
    return marks
