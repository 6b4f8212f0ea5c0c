"""Functions imported with their first call: views, and what few templates ask for.

The server answers its first page before the modules of all others are loaded. Imports of this kind
are done one at a time, so that two requests never wait for halves of each other's modules.
"""

from collections.abc import Callable
from importlib import import_module
from threading import RLock
from typing import Any

from flask import Flask

_IMPORTING = RLock()
TEMPLATE_FUNCTIONS = {
    "webapp.notebook.loops.figures": ("find_figure",),
    "webapp.notebook.own_pages.opening": ("place_reference",),
    "webapp.notebook.pieces.needs": ("name_bars",),
    "webapp.notebook.pieces.words": ("list_ways", "tell_bars", "tell_length"),
    "webapp.presenting.loops": ("tell_oddities", "tell_rate", "tell_ways"),
    "webapp.presenting.own_pages": ("page_picture",),
    "webapp.presenting.pieces": ("small_fingering", "tell_bar"),
    "webapp.presenting.take_pictures": (
        "dynamics_picture",
        "evenness_picture",
        "history_picture",
        "history_points",
        "levels_picture",
        "spectrum_picture",
        "trace_picture",
        "trust_picture",
    ),
    "webapp.presenting.trills": ("describe_colour", "describe_pair"),
}
"""What templates ask for by its own name, by the module in which it stands."""


def register(app: Flask) -> None:
    """Give the templates functions whose modules are loaded when one is called."""
    for module, names in TEMPLATE_FUNCTIONS.items():
        app.jinja_env.globals.update({name: late(module, name) for name in names})


def late(module: str, name: str) -> Callable[..., Any]:
    """Return a function that imports the named one with its first call, and calls it."""

    def call(*positional: object, **named: object) -> object:
        return load(module, name)(*positional, **named)

    call.__module__, call.__name__, call.__qualname__ = module, name, name
    return call


def load(module: str, name: str) -> Callable[..., Any]:
    """Import a function."""
    with _IMPORTING:
        function: Callable[..., Any] = getattr(import_module(module), name)
    return function


def load_module(name: str) -> None:
    """Import a module ahead of its first use, in turn with what requests import."""
    with _IMPORTING:
        import_module(name)
