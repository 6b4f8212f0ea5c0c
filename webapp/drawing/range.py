"""The range of an instrument as a ladder: one rung a step, and a plumb line through all of them.

The plumb line is every step's own zero, the stripe about it the tolerance, flat is left and sharp
right. What is in tune is a disc of ink with its uncertainty as a bar, what is near a thick ring,
what sounds elsewhere a thin one; what is predicted a dashed hollow ring with a dashed bar; what is
logged and not tried a half disc where it is meant to sound. Where nothing serves the line and the
stripe are broken, so a gap is a hole in the ladder; a cross in the hole says that something was
tried and does not speak. An ordinary note leaves the line as it is. A mark beyond the rung becomes
a wedge at its end that points outwards.

A page holds hundreds of rungs, so what they share is drawn once (`draw_ladder_parts`) and each rung
only refers to it. Places across are percentages and marks are given in pixels: a rung fills
whatever box its row has, and no mark is stretched. The words stand beside the rung in the page, so
to a screen reader the picture is silent.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from analysis.pitch import format_cents
from webapp.drawing.plot import ACCENT, Axis
from webapp.drawing.svg import SVG_NAMESPACE, element, number, render

_RADIUS = 5.5
_DASHES = "2.4 2"


class Rung(StrEnum):
    """What a rung shows; the value is the id of the part that shows it."""

    IN_TUNE = "rung-in-tune"
    NEAR = "rung-near"
    ELSEWHERE = "rung-elsewhere"
    PREDICTED = "rung-predicted"
    NOT_TRIED = "rung-not-tried"
    ORDINARY = "rung-ordinary"
    OPEN = "rung-open"
    SILENT = "rung-silent"


_MEASURED = (Rung.IN_TUNE, Rung.NEAR, Rung.ELSEWHERE)
_MARKED = (*_MEASURED, Rung.PREDICTED, Rung.NOT_TRIED)
_BROKEN = (Rung.OPEN, Rung.SILENT, Rung.ELSEWHERE)
_RAIL, _BROKEN_RAIL = "rung-rail", "rung-broken"


@dataclass(frozen=True, slots=True)
class LadderScale:
    """How far a rung reaches to either side of its zero, and what is near enough, in cents."""

    reach_cents: float
    tolerance_cents: float

    def place(self, cents: float) -> float:
        """Where an offset lies across the rung, in per cent of its width; the ends hold all."""
        axis = Axis(-self.reach_cents, self.reach_cents, 0.0, 100.0)
        return min(max(axis.place(cents), 0.0), 100.0)

    def holds(self, cents: float) -> bool:
        """Whether an offset lies on the rung."""
        return abs(cents) <= self.reach_cents

    @property
    def end_words(self) -> tuple[str, str]:
        """The flat and the sharp end, as numbers."""
        return format_cents(-self.reach_cents, decimals=0), format_cents(
            self.reach_cents, decimals=0
        )


def draw_ladder_parts(scale: LadderScale) -> str:
    """Draw what rungs refer to; it has no size and shows nothing itself."""
    root = element(
        "svg", xmlns=SVG_NAMESPACE, width=0, height=0, class_="ladder-parts", aria_hidden="true"
    )
    parts = element("defs")
    parts.extend((_rail(scale), _broken_rail()))
    parts.extend((_in_tune(), _near(), _elsewhere(), _predicted(), _not_tried(), _silent()))
    for is_predicted in (False, True):
        parts.append(_wedge(-1, is_predicted=is_predicted))
        parts.append(_wedge(1, is_predicted=is_predicted))
    root.append(parts)
    return render(root)


def draw_rung(
    rung: Rung,
    scale: LadderScale,
    *,
    offset_cents: float | None = None,
    uncertainty_cents: float | None = None,
) -> str:
    """Draw one rung; it needs the parts to stand on the same page."""
    root = _picture("rung")
    root.append(_use(_BROKEN_RAIL if rung in _BROKEN else _RAIL))
    if rung is Rung.SILENT:
        root.append(_use(rung, x="50%"))
    if rung in _MARKED and offset_cents is not None:
        root.extend(_mark(rung, scale, offset_cents, uncertainty_cents))
    return render(root)


def _picture(class_: str) -> ET.Element:
    return element("svg", class_=class_, aria_hidden="true", focusable="false")


def _use(part: str, x: str | None = None) -> ET.Element:
    return element("use", href=f"#{part}", x=x, y=None if x is None else "50%")


def _mark(
    rung: Rung, scale: LadderScale, offset_cents: float, uncertainty_cents: float | None
) -> Iterator[ET.Element]:
    if not scale.holds(offset_cents):
        side = -1 if offset_cents < 0 else 1
        part = _wedge_id(side, is_predicted=rung is Rung.PREDICTED)
        yield _use(part, x="0" if side < 0 else "100%")
        return
    if uncertainty_cents is not None:
        yield element(
            "line",
            x1=_percent(scale.place(offset_cents - uncertainty_cents)),
            x2=_percent(scale.place(offset_cents + uncertainty_cents)),
            y1="50%",
            y2="50%",
            stroke="currentColor",
            stroke_width=3 if rung in _MEASURED else 1.6,
            stroke_dasharray=None if rung in _MEASURED else _DASHES,
        )
    yield _use(rung, x=_percent(scale.place(offset_cents)))


def _percent(place: float) -> str:
    return f"{number(place)}%"


def _rail(scale: LadderScale) -> ET.Element:
    left = scale.place(-scale.tolerance_cents)
    width = scale.place(scale.tolerance_cents) - left
    stripe = element(
        "rect", x=_percent(left), width=_percent(width), height="100%", class_="stripe",
        fill="currentColor", fill_opacity=0.1,
    )  # fmt: skip
    return element("symbol", None, stripe, _plumb_line("0", "100%"), id=_RAIL)


def _broken_rail() -> ET.Element:
    """The plumb line broken out of a rung: two stubs, each with its end turned aside."""
    ends = (("0", "16%"), ("84%", "100%"))
    stubs = (_plumb_line(top, bottom) for top, bottom in ends)
    caps = (
        element("line", x1="44%", x2="56%", y1=y, y2=y, stroke="currentColor", stroke_width=1.6)
        for y in ("16%", "84%")
    )
    return element("symbol", None, *stubs, *caps, id=_BROKEN_RAIL)


def _plumb_line(top: str, bottom: str) -> ET.Element:
    line = element(
        "line", x1="50%", x2="50%", y1=top, y2=bottom, stroke="currentColor", stroke_width=1.6
    )
    return element("g", None, line, color=ACCENT, class_="accent")


def _in_tune() -> ET.Element:
    return element("circle", id=Rung.IN_TUNE.value, r=_RADIUS, fill="currentColor")


def _near() -> ET.Element:
    return _ring(Rung.NEAR, radius=_RADIUS - 1.2, stroke=3.0)


def _elsewhere() -> ET.Element:
    return _ring(Rung.ELSEWHERE, radius=_RADIUS, stroke=1.4)


def _ring(rung: Rung, *, radius: float, stroke: float) -> ET.Element:
    return element(
        "circle", id=rung.value, r=number(radius), class_="open-mark", fill="#ffffff",
        stroke="currentColor", stroke_width=stroke,
    )  # fmt: skip


def _predicted() -> ET.Element:
    return element(
        "circle", id=Rung.PREDICTED.value, r=_RADIUS, class_="open-mark", fill="#ffffff",
        stroke="currentColor", stroke_width=1.6, stroke_dasharray=_DASHES,
    )  # fmt: skip


def _not_tried() -> ET.Element:
    ring = element(
        "circle", r=_RADIUS, class_="open-mark", fill="#ffffff", stroke="currentColor",
        stroke_width=1.4,
    )  # fmt: skip
    r = number(_RADIUS)
    half = element("path", d=f"M-{r} 0a{r} {r} 0 0 0 {number(2 * _RADIUS)} 0z", fill="currentColor")
    return element("g", None, ring, half, id=Rung.NOT_TRIED.value)


def _silent() -> ET.Element:
    return element(
        "path", id=Rung.SILENT.value, d="M-4.5 -4.5l9 9m0 -9l-9 9", fill="none",
        stroke="currentColor", stroke_width=1.8,
    )  # fmt: skip


def _wedge_id(outwards: int, *, is_predicted: bool) -> str:
    side = "flatter" if outwards < 0 else "sharper"
    return f"rung-predicted-{side}" if is_predicted else f"rung-{side}"


def _wedge(outwards: int, *, is_predicted: bool) -> ET.Element:
    base, tip = -14 * outwards, -3 * outwards
    wedge = element(
        "polygon",
        id=_wedge_id(outwards, is_predicted=is_predicted),
        points=f"{base},-6 {tip},0 {base},6",
        fill="currentColor",
    )
    if is_predicted:
        dashed = {"stroke": "currentColor", "stroke-width": "1.6", "stroke-dasharray": _DASHES}
        wedge.attrib.update({"fill": "#ffffff", "class": "open-mark", **dashed})
    return wedge
