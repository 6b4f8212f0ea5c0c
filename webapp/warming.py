"""Load in the background what the first take and the first chart will need."""

import importlib

HEAVY = ("scipy.fft", "scipy.interpolate", "scipy.signal", "soundfile", "typst", "fontTools.ttLib")


def warm_up() -> None:
    """Import the heavy packages once, so that no page waits for them."""
    for name in HEAVY:
        importlib.import_module(name)
