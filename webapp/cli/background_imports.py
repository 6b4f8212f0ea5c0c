"""Imports for a background thread: the pages, and the packages of the first take and a chart.

The first answer does not wait for them, and they wait for every page that is being made. What only
the picture of levels needs (librosa, some 110 MB with what it loads) is imported with the first
such picture, since many a notebook is served for days without one.
"""

import threading
from collections.abc import Callable

from webapp.pages.addresses import VIEWS
from webapp.presenting.late import TEMPLATE_FUNCTIONS, load_module

PAGES = (*(f"webapp.pages.{module}" for module in VIEWS), *TEMPLATE_FUNCTIONS)
FOR_TAKES = (
    "webapp.notebook.recordings.splitting",
    "analysis.finder.suggesting",
    "scipy.fft",
    "scipy.linalg",
    "scipy.optimize",  # the suggestions' first update after a take
    "soundfile",
    "typst",
    "fontTools.ttLib",
)


def import_packages(
    names: tuple[str, ...] = (*PAGES, *FOR_TAKES),
    *,
    give_way: Callable[[], None] | None = None,
    stop: threading.Event | None = None,
) -> None:
    """Import modules once, so that no page waits for them; `give_way` is called before each."""
    for name in names:
        if give_way is not None:
            give_way()
        if stop is not None and stop.is_set():
            return
        load_module(name)
