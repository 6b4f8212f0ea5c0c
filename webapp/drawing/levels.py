"""Level over time and frequency as a picture: ink where it sounds, note names at the side.

The dots are a grey picture of their own (`png`), which the drawing frames with its two scales.
White is 80 dB below the loudest spot of the view, black is the loudest. The frequency scale is
logarithmic, so that equal intervals are equally high.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.recording.spectrogram import FLOOR_DB, View
from webapp.drawing.plot import (
    PLOT_WIDTH,
    Axis,
    bottom_scale,
    gridlines,
    round_ticks,
    small_text,
    time_scale_words,
)
from webapp.drawing.svg import ViewBox, element, number, render, svg_root

LEVELS_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 228)
_LEFT, _RIGHT, _TOP, _BOTTOM = 52.0, 332.0, 20.0, 192.0
_LABEL_ROOM = 13.0


@dataclass(frozen=True, slots=True)
class NoteTick:
    """A note named at the side."""

    freq_hz: float
    name: str


def ink_levels(levels_db: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Turn levels into grey: 255 (paper) at the floor, 0 (ink) at 0 dB.

    >>> ink_levels(np.array([[0.0, -40.0, -80.0]], dtype=np.float32)).tolist()
    [[0, 128, 255]]
    """
    share = np.clip(levels_db / FLOOR_DB, 0.0, 1.0)
    grey: NDArray[np.uint8] = np.round(share * 255).astype(np.uint8)
    return grey


def describe_levels(view: View, notes: Sequence[NoteTick]) -> str:
    """The view in words."""
    named = ""
    if len(notes) > 1:
        named = f", with {notes[0].name} to {notes[-1].name} named at the side"
    return (
        f"Level from {view.from_s:.2f} to {view.to_s:.2f} s and from {view.low_hz:.0f} to "
        f"{view.high_hz:.0f} Hz{named}. Each partial of a held tone is a level line; the sentences "
        "beside the trace and the spectrum give its numbers."
    )


def draw_levels(
    view: View, *, image_href: str, notes: Sequence[NoteTick], id_prefix: str = "levels"
) -> str:
    """Frame the picture at `image_href` with time, notes and a place for the cursor."""
    root = svg_root(
        LEVELS_VIEW_BOX,
        title="Level over time and frequency",
        desc=describe_levels(view, notes),
        id_prefix=id_prefix,
        class_="levels",
    )
    time_axis = Axis(view.from_s, view.to_s, _LEFT, _RIGHT)
    root.set("data-time", time_scale_words(time_axis))
    root.set("data-height", f"{number(_TOP)} {number(_BOTTOM)}")
    box = {"x": _LEFT, "y": _TOP, "width": _RIGHT - _LEFT, "height": _BOTTOM - _TOP}
    root.append(
        element("image", href=image_href, preserveAspectRatio="none", class_="levels-dots", **box)
    )
    root.append(element("rect", fill="none", stroke="currentColor", stroke_width=0.9, **box))
    root.append(_note_scale(view, notes))
    ticks = round_ticks(view.from_s, view.to_s, at_most=6)
    scale = bottom_scale(time_axis, _BOTTOM + 4, [(tick, f"{tick:.6g}") for tick in ticks])
    scale.append(small_text("s", x=_RIGHT + 5, y=_BOTTOM + 21))
    root.append(scale)
    return render(root)


def _note_scale(view: View, notes: Sequence[NoteTick]) -> ET.Element:
    axis = Axis(math.log2(view.low_hz), math.log2(view.high_hz), _BOTTOM, _TOP)
    scale = element("g", class_="scale")
    places = [(axis.place(math.log2(note.freq_hz)), note.name) for note in notes]
    scale.append(gridlines((y for y, _ in places), left=_LEFT - 5, right=_LEFT))
    lowest = math.inf
    for y, name in places:  # from low to high; names that would run into each other give way
        if lowest - y >= _LABEL_ROOM:
            scale.append(small_text(name, x=_LEFT - 8, y=y + 4, anchor="end"))
            lowest = y
    return scale
