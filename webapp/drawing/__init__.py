"""Drawings as SVG text: fingering, staff, offset, pitch trace, spectrum; one source for all uses.

Each `draw_...` returns one `<svg role="img">` with its words in it; each `describe_...` gives the
same words alone, for a caller that needs them beside the picture (the PDF chart's alternative
texts). Ink is `currentColor`; the class `accent` marks the one accent by its `color`.
"""

from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import Profile
from webapp.drawing.glyphs import MusicSignError
from webapp.drawing.offset import describe_offset, draw_offset
from webapp.drawing.spectrum import describe_spectrum, draw_spectrum
from webapp.drawing.staff import describe_staff, draw_staff
from webapp.drawing.trace import describe_trace, draw_trace

__all__ = [
    "MusicSignError",
    "Profile",
    "describe_offset",
    "describe_spectrum",
    "describe_staff",
    "describe_trace",
    "draw_fingering",
    "draw_offset",
    "draw_spectrum",
    "draw_staff",
    "draw_trace",
]
