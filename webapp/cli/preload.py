"""Load in the background what the first take, what is learned from it and the first chart need."""

import importlib

HEAVY = (
    "scipy.fft",
    "scipy.interpolate",
    "scipy.signal",
    "scipy.optimize",  # the suggestions' first update after a take
    "soundfile",
    "typst",
    "fontTools.ttLib",
)
LOOKING = ("librosa.core.spectrum",)
"""For the picture of levels alone, and slow to load: after everything else."""


def warm_up(names: tuple[str, ...] = HEAVY) -> None:
    """Import heavy packages once, so that no page waits for them."""
    for name in names:
        importlib.import_module(name)
