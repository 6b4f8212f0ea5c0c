"""Imports for a background thread: the packages of the first take, its learning and a chart.

What only the picture of levels needs (librosa, some 110 MB with what it loads) is imported with the
first such picture, since many a notebook is served for days without one.
"""

import importlib

FOR_TAKES = (
    "scipy.fft",
    "scipy.linalg",
    "scipy.optimize",  # the suggestions' first update after a take
    "soundfile",
    "typst",
    "fontTools.ttLib",
)


def import_packages(names: tuple[str, ...] = FOR_TAKES) -> None:
    """Import heavy packages once, so that no page waits for them."""
    for name in names:
        importlib.import_module(name)
