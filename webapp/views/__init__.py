"""One blueprint a noun: a view parses, calls one service, and renders or redirects."""

from flask import Blueprint

from webapp.views import (
    assets,
    bin,
    charts,
    fingerings,
    instruments,
    preferences,
    search,
    start,
    takes,
)

BLUEPRINTS: tuple[Blueprint, ...] = (
    start.blueprint,
    instruments.blueprint,
    fingerings.blueprint,
    takes.blueprint,
    search.blueprint,
    charts.blueprint,
    bin.blueprint,
    preferences.blueprint,
    assets.blueprint,
)
