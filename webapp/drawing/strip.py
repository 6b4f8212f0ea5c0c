"""A register written out on a staff: a notehead a step, filled by how it stands.

Ink all through is in tune, ink in the lower half measured but off, a ring open. Low and high are
read from the place on the staff alone, so there is no clef and no sign. Steps are lines and spaces
of the treble clef counted from its bottom line (0); one stands 17 px from the next, so that
neighbours never touch. The words stand beside it, so to a screen reader it is silent.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from enum import StrEnum

from webapp.drawing.staff import ledger_steps
from webapp.drawing.svg import element, render

_APART, _HALF_SPACE = 17.0, 3.4
_BOTTOM_LINE_Y, _HEIGHT = 66.0, 102.0
_REACH_X, _REACH_Y, _LEDGER_REACH = 4.8, 3.4, 6.4
_LEAN_DEGREES = -20


class Notehead(StrEnum):
    """How a step stands."""

    IN_TUNE = "in tune"
    OFF = "measured, off"
    OPEN = "open"


def draw_strip(heads: Sequence[tuple[int, Notehead]]) -> str:
    """Draw the steps of a register, low to high, each by its step on the staff and its standing."""
    width = _APART * len(heads)
    root = element(
        "svg", viewBox=f"0 0 {width:g} {_HEIGHT:g}", width=width, height=_HEIGHT,
        class_="strip-staff", aria_hidden="true", focusable="false",
    )  # fmt: skip
    lines = [_line(0, width, step) for step in range(0, 9, 2)]
    barline = element("line", x1=width, x2=width, y1=_y(0), y2=_y(8))
    root.append(element("g", None, *lines, barline, stroke="currentColor", stroke_width=1))
    for place, (step, standing) in enumerate(heads):
        x = _APART * (place + 0.5)
        ledgers = [_line(x - _LEDGER_REACH, x + _LEDGER_REACH, each) for each in ledger_steps(step)]
        if ledgers:
            root.append(element("g", None, *ledgers, stroke="currentColor", stroke_width=1))
        root.append(_notehead(x, _y(step), standing))
    return render(root)


def draw_notehead(standing: Notehead) -> str:
    """Draw one notehead by itself, for a legend."""
    root = element(
        "svg", viewBox="0 0 12 12", width=12, height=12, aria_hidden="true", focusable="false"
    )
    root.append(_notehead(6, 6, standing))
    return render(root)


def _y(step: float) -> float:
    return _BOTTOM_LINE_Y - step * _HALF_SPACE


def _line(x1: float, x2: float, step: int) -> ET.Element:
    return element("line", x1=x1, x2=x2, y1=_y(step), y2=_y(step))


def _notehead(x: float, y: float, standing: Notehead) -> ET.Element:
    ellipse = element(
        "ellipse", rx=_REACH_X, ry=_REACH_Y, class_="open-mark", stroke="currentColor",
        stroke_width=1.5, fill="currentColor" if standing is Notehead.IN_TUNE else "#ffffff",
    )  # fmt: skip
    parts = [ellipse]
    if standing is Notehead.OFF:
        half = f"M{-_REACH_X} 0a{_REACH_X} {_REACH_Y} 0 0 0 {2 * _REACH_X} 0z"
        parts.append(element("path", d=half, fill="currentColor"))
    return element(
        "g", None, *parts, transform=f"translate({x:g} {y:g}) rotate({_LEAN_DEGREES})",
        class_=None if standing is Notehead.OPEN else "measured",
    )  # fmt: skip
