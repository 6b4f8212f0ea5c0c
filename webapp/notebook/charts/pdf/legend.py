"""The legend of a chart: what its signs, forms and figures mean, for the entries it has.

The small key pictures follow the fingering drawing's rules: form says what a key does, ink says
what the fingers do, a halo says what differs from the base.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass

from analysis.keywork import State
from analysis.pitch import AccidentalSign, SystemId, format_cents, write_accidental
from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph, place_glyph
from webapp.drawing.svg import element, render, svg_root
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartSpec

_SIGN_BOX = (0.0, 0.0, 48.0, 48.0)
_KEY_BOX = (0.0, 0.0, 48.0, 48.0)
_LINE, _THIN_LINE, _SIGN_GAP = 2.4, 1.4, 2.5
_HALO_GAP, _HALO_LINE = 3.0, 2.4

CAUTION = (
    "Fingerings of high resistance and loud high notes ask much of lips, jaw and ears. Try them in "
    "short spells, rest in between, and stop when something hurts; what your teacher or your "
    "doctor says comes first."
)
UNMEASURED = (
    "These are the ordinary fingerings that others start from. Nothing here was measured: where "
    "they come from stands at the head of the chart, and your instrument may want others."
)
FIGURES = "A figure beside a note is added to its sign, in cents."
RATIOS = (
    "A ratio beside a note is the just interval above its root that the note is tuned to: its sign "
    "is the tempered note, and the ratio says how far the note lies from it."
)
PREDICTED = (
    "Predicted: in a dashed frame stand fingerings that nobody has measured on this instrument. "
    "Their figure is computed, ± is one standard deviation of it, and their mark is hollow: try "
    "them before you rely on them."
)


@dataclass(frozen=True, slots=True)
class Swatch:
    """One line of the legend: a small picture and what it means."""

    svg: str
    meaning: str


def list_signs(spec: ChartSpec) -> list[Swatch]:
    """Each accidental that the chart uses, from the lowest up, with its size in cents."""
    used = {sign.codepoints: sign for sign in _signs_used(spec)}
    ordered = sorted(used.values(), key=lambda sign: sign.sign_cents)
    return [Swatch(_draw_sign(sign), _explain_sign(sign)) for sign in ordered if sign.is_shown]


def list_key_forms(entries: tuple[ChartEntry, ...]) -> list[Swatch]:
    """The forms and inks of the fingering drawing; what no entry uses is left out."""
    has_base = any(entry.base is not None for entry in entries)
    states = {state for entry in entries for state in entry.fingering.states}
    meanings = [
        (_hole("none"), "a finger’s hole, open"),
        (_hole("currentColor"), "held: covered or pressed"),
        *([(_half_hole(), "half-hole")] if State.SHADED in states else []),
        *([(_vented(), "plate held, its small hole open")] if State.VENTED in states else []),
        (_bar(11), "a key that opens a pad (raises)"),
        (_bar(0), "a key that closes a pad (lowers)"),
        (_behind(), "behind the tube, open"),
        *([(_with_halo(), "changed from where it started")] if has_base else []),
    ]
    return [Swatch(_draw_key(parts, meaning), meaning) for parts, meaning in meanings]


def explain_figures(spec: ChartSpec) -> list[str]:
    """What the numbers mean, each in a sentence, as far as the entries need it."""
    sentences = _explain_evidence(spec) if spec.has_evidence else [UNMEASURED]
    if any(entry.prediction is not None for entry in spec.entries):
        sentences.append(PREDICTED)
    if any(sign.figure for sign in _signs_used(spec)):
        sentences.append(FIGURES)
        if spec.accidental_style.id is SystemId.JUST:
            sentences.append(RATIOS)
    if any(entry.fingering.has_half_hole for entry in spec.entries):
        worth = ", so its figure is worth less than it says" if spec.has_evidence else ""
        sentences.append(
            f"Half-hole: a half-covered hole can’t be set exactly the same way twice{worth}."
        )
    return sentences


def _explain_evidence(spec: ChartSpec) -> list[str]:
    return [
        f"Figures are cents from the written note at A = {spec.tuning_a_hz:g} Hz: "
        "+ is sharp, − is flat, ± is one standard deviation over all takes of the fingering.",
        "On the short rule the note is the middle line, the box is the tolerance of "
        f"{spec.tolerance_cents:g} cents, the dot is what sounds and the bar through it its ±; "
        "a wedge points to what lies beyond the rule.",
        "Resistance goes from 1 (free) to 5 (very resistant).",
    ]


def _signs_used(spec: ChartSpec) -> list[AccidentalSign]:
    return [write_accidental(entry.written, spec.accidental_style) for entry in spec.entries]


def _explain_sign(sign: AccidentalSign) -> str:
    cents = format_cents(float(sign.sign_cents), decimals=0 if sign.sign_cents % 1 == 0 else 1)
    return f"{sign.name_in_words} ({cents} cents)"


def _draw_sign(sign: AccidentalSign) -> str:
    root = svg_root(_SIGN_BOX, title=sign.name_in_words, id_prefix="sign")
    glyphs, space = [load_glyph(each) for each in sign.codepoints], 11.0
    scale = space / UNITS_PER_STAFF_SPACE
    gap = _SIGN_GAP * (len(glyphs) - 1)
    x = (_SIGN_BOX[2] - sum(glyph.width for glyph in glyphs) * scale - gap) / 2
    for glyph in glyphs:
        y = _SIGN_BOX[3] / 2 + (glyph.bottom + glyph.height / 2) * scale
        root.append(place_glyph(glyph.codepoint, x=x - glyph.left * scale, y=y, space=space))
        x += glyph.width * scale + _SIGN_GAP
    return render(root)


def _draw_key(parts: list[ET.Element], meaning: str) -> str:
    root = svg_root(_KEY_BOX, title=meaning, id_prefix="key")
    ink = element("g", None, *parts, stroke="currentColor", stroke_width=_LINE, fill="none")
    root.append(ink)
    return render(root)


def _circle(radius: float, *, fill: str = "none", line: float = _LINE) -> ET.Element:
    return element("circle", cx=24, cy=24, r=radius, fill=fill, stroke_width=line)


def _hole(fill: str) -> list[ET.Element]:
    return [_circle(12, fill=fill)]


def _behind() -> list[ET.Element]:
    return [_circle(12, line=_THIN_LINE), _circle(9, line=_THIN_LINE)]


def _half_hole() -> list[ET.Element]:
    lower_half = element("path", d="M12 24h24a12 12 0 0 1-24 0z", fill="currentColor")
    return [_circle(12), lower_half]


def _vented() -> list[ET.Element]:
    ring = element("circle", cx=24, cy=24, r=8.5, stroke_width=7)
    return [ring]


def _bar(radius: float) -> list[ET.Element]:
    return [element("rect", x=6, y=13, width=36, height=22, rx=radius)]


def _with_halo() -> list[ET.Element]:
    return [_circle(12, fill="currentColor"), _circle(12 + _HALO_GAP + _HALO_LINE)]
